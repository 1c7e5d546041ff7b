"""Homework told by the strokes that were made: days, weeks, a day missed, what can no longer be made up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.coaching.homework import DrillStroke, Homework, done_words, progress_of, task_words

MONDAY = date(2026, 3, 2)
NOON = datetime(2026, 3, 2, 12, tzinfo=timezone.utc)
TWO_WEEKS = Homework("a" * 32, "ladder", 10, 3, MONDAY, MONDAY + timedelta(days=13), NOON - timedelta(hours=3))


def made(*days: int, strokes: int = 10, drill: str = "ladder", kind: str = "ball") -> list[DrillStroke]:
    return [DrillStroke(NOON + timedelta(days=d), kind, drill) for d in days for _ in range(strokes)]  # type: ignore[arg-type]


def on(day: int) -> date:
    return MONDAY + timedelta(days=day)


@pytest.mark.parametrize(
    ("strokes", "day", "state", "missed"),
    [
        ([], -1, "to come", 0),
        ([], 0, "due", 0),
        (made(0, strokes=9), 0, "due", 0),
        (made(0), 0, "done for today", 0),
        (made(0), 1, "due", 0),
        (made(0, 1, 2), 3, "done for this week", 0),
        (made(0, 1, 2), 7, "due", 0),
        ([], 4, "due", 0),  # Friday, Saturday and Sunday are left
        ([], 5, "overdue", 1),
        (made(0), 6, "overdue", 1),
        (made(0, 6), 6, "done for today", 1),
        (made(0, 1), 7, "overdue", 1),
        (made(0, 1, 2, 7, 8, 9), 10, "done", 0),
        (made(0, 1, 2, 7, 8, 9), 20, "done", 0),
        (made(0, 1, 2, 7, 8), 14, "over", 1),
    ],
)
def test_how_it_stands(strokes: list[DrillStroke], day: int, state: str, missed: int) -> None:
    found = progress_of(TWO_WEEKS, strokes, on(day))
    assert (found.state, found.missed) == (state, missed)


def test_only_its_own_strokes_count_and_only_since_it_was_set() -> None:
    others = made(0, drill="still-head") + made(0, kind="rehearsal") + made(-1)
    assert progress_of(TWO_WEEKS, others, on(0)).today == 0
    assert progress_of(TWO_WEEKS, others, on(0), "rehearsal").today == 10
    for set_after, today in ((-1, 10), (0, 10), (1, 0)):  # hours after the strokes of that day
        assert progress_of(replace(TWO_WEEKS, set_at=NOON + timedelta(hours=set_after)), made(0), on(0)).today == today


def test_the_last_week_asks_for_no_more_days_than_it_has() -> None:
    short = Homework("b" * 32, "ladder", 10, 5, MONDAY, on(8), NOON - timedelta(hours=3))
    found = progress_of(short, made(0, 1, 2, 3, 4, 7, 8), on(8))
    assert [week.wanted for week in found.weeks] == [5, 2]
    assert found.state == "done"


@given(st.sets(st.integers(0, 13)), st.integers(1, 7), st.integers(0, 20))
def test_what_is_missed_and_done_makes_up_what_was_wanted(days: set[int], a_week: int, today: int) -> None:
    homework = Homework("c" * 32, "ladder", 2, a_week, MONDAY, on(13), NOON - timedelta(hours=3))
    found = progress_of(homework, made(*[d for d in days if d <= today], strokes=2), on(today))
    assert found.days_done == len([d for d in days if d <= min(today, 13)])
    assert 0 <= found.missed <= 2 * a_week
    if today > 13:
        assert found.missed == sum(max(0, week.wanted - week.done) for week in found.weeks)
        assert (found.state == "done") == (found.missed == 0)


def test_words() -> None:
    assert task_words(TWO_WEEKS, "Ladder") == "Ladder, 10 strokes on 3 days a week until 2026-03-15"
    assert done_words(progress_of(TWO_WEEKS, made(0, 1, strokes=4), on(1))) == (
        "due: this week 0 of 3 days, today 4 of 10 strokes"
    )
    assert done_words(progress_of(TWO_WEEKS, made(0, 1), on(7))) == (
        "overdue: this week 0 of 3 days, today 0 of 10 strokes; 1 day missed"
    )
    assert done_words(progress_of(TWO_WEEKS, made(0, 1, 2, 7, 8), on(14))) == "over: 5 of 6 days; 1 day missed"
