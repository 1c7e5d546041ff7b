"""What days, sessions and strokes are called."""

from __future__ import annotations

import time
from datetime import date, datetime, timezone
from typing import Iterator

import pytest

from trainer.domain.naming import NAMELESS, day_words, for_student, moment_words, stroke_name, stroke_number

AT = datetime(2026, 11, 27, 17, 40, 59, tzinfo=timezone.utc)


@pytest.fixture
def an_hour_east(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("TZ", "EAST-1")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("an_hour_east")
def test_a_stroke_is_named_by_its_session_in_local_time() -> None:
    assert stroke_name(AT, 3, date(2026, 12, 1)) == "27 Nov, 18:40, stroke 3"
    assert moment_words(AT, date(2026, 12, 1)) == "27 Nov, 18:40"


@pytest.mark.usefixtures("an_hour_east")
def test_the_day_is_the_local_one() -> None:
    assert moment_words(datetime(2026, 12, 31, 23, 30, tzinfo=timezone.utc), date(2026, 12, 31)) == "1 Jan 2027, 00:30"


def test_another_years_day_says_its_year() -> None:
    assert day_words(date(2025, 3, 2), date(2026, 12, 1)) == "2 Mar 2025"
    assert day_words(date(2025, 3, 2)) == "2 Mar 2025"
    assert day_words(date(2026, 3, 2), date(2026, 12, 1)) == "2 Mar"


@pytest.mark.parametrize(
    ("text", "found"),
    [("3", (1, 3)), ("2/5", (2, 5)), ("0", None), ("2/0", None), ("/3", None), ("2/", None), ("a", None), ("-1", None)],
)
def test_a_stroke_is_chosen_by_its_number_and_its_session(text: str, found: tuple[int, int] | None) -> None:
    chosen = stroke_number(text)
    assert (None if chosen is None else (chosen.session_back, chosen.number)) == found
    assert chosen is None or stroke_number(str(chosen)) == chosen


def test_a_command_is_told_for_whom_it_is() -> None:
    assert f"practice{for_student('Robin')}" == "practice --student Robin"
    assert for_student("Ann B.") == ' --student "Ann B."'
    assert for_student(NAMELESS) == ""
