"""Limits changed on several computers: the same in the end in whatever order files go about, each change under its maker."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.settings.limits import Limits
from trainer.store.limit_changes import LimitChange, changes_of, rows_of
from trainer.store.limit_lines import as_recorded, flat, in_line, merged, moved, nested, newest, united

START = datetime(2026, 3, 1, tzinfo=timezone.utc)
STUDENT = "ab" * 16
KEYS = ("sway.limit_cm", "hand_stall.limit_deg", "hand_stall.on")
VALUES: dict[str, tuple[Any, ...]] = {
    "sway.limit_cm": (2.0, 3.0, 4.0),
    "hand_stall.limit_deg": (10.0, 12.0, 15.0),
    "hand_stall.on": (True, False),
}


def at(second: int) -> str:
    return (START + timedelta(seconds=second)).isoformat()


@dataclass
class Side:
    """A computer: its record's changes, and the limits in the student's file."""

    name: str
    values: dict[str, Any] = field(default_factory=lambda: flat(Limits().model_dump()))
    changes: list[LimitChange] = field(default_factory=list)

    def set(self, second: int, new: dict[str, Any], told: bool = True) -> LimitChange:
        """told: with what stood before, as it was not kept once."""
        before, self.values = self.values, {**self.values, **new}
        made = LimitChange(uuid.uuid4().hex, STUDENT, at(second), self.name, "", nested(self.values), nested(before))
        self.changes.append(made if told else replace(made, before=None))
        return made

    def takes_in(self, changes: list[LimitChange]) -> None:
        self.values = merged(self.changes, changes, self.values)
        self.changes = united(self.changes, changes)


def test_a_change_is_kept_as_two_rows_and_read_back() -> None:
    side = Side("coach")
    change = side.set(1, {"sway.limit_cm": 4.0})
    rows = rows_of(change)
    assert len({row.uid for row in rows}) == 2
    assert changes_of(rows[::-1]) == [change]
    assert moved(change) == {"sway.limit_cm": 4.0}


_ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("set"), st.integers(0, 2), st.sampled_from(KEYS), st.integers(0, 2)),
        st.tuples(st.just("file"), st.integers(0, 2), st.just(""), st.just(0)),
        st.tuples(st.just("take"), st.integers(0, 2), st.just(""), st.integers(0, 20)),
    ),
    max_size=25,
)


@settings(max_examples=300, deadline=None)
@given(_ACTS, st.permutations(range(6)))
def test_all_sides_end_with_the_newest_changes_whatever_the_order(acts: list[Any], order: list[int]) -> None:
    sides = [Side(name) for name in ("coach", "home", "club")]
    files: list[list[LimitChange]] = []
    last: dict[str, Any] = {}
    made: dict[str, tuple[str, dict[str, Any]]] = {}
    for second, (act, k, key, number) in enumerate(acts, 1):
        side = sides[k]
        if act == "file":
            files.append(list(side.changes))
        elif act == "take" and files:
            for _ in range(2):  # twice is as good as once
                side.takes_in(files[number % len(files)])
                held = (dict(side.values), list(side.changes))
            assert (side.values, side.changes) == held
        elif act == "set":
            new = {key: VALUES[key][number % len(VALUES[key])]}
            if side.values != {**side.values, **new}:
                last |= new
            change = side.set(second, new)
            made[change.uid] = (side.name, moved(change))
    for k in order:  # each hears of each, in any order, twice
        sides[k % 3].takes_in(sides[(k + 1 + k // 3) % 3].changes)
    for k in (*order, *order):
        sides[k % 3].takes_in(sides[(k + 1 + k // 3) % 3].changes)
    wanted = flat(Limits().model_dump()) | last
    for side in sides:
        assert side.values == wanted
        assert {one.uid: (one.who, moved(one)) for one in side.changes} == made


def test_what_stood_before_is_inferred_along_the_own_line_where_it_was_not_kept() -> None:
    coach, rob = Side("coach"), Side("Rob")
    first = LimitChange("1" * 32, STUDENT, "1970-01-01T00:00:00+00:00", "", "before", nested(coach.values))
    coach.changes, rob.changes = [first], [replace(first, uid="2" * 32)]
    rob.set(1, {"sway.limit_cm": 4.0}, told=False)
    coach.set(2, {"hand_stall.limit_deg": 10.0}, told=False)
    rob.set(3, {"hand_stall.on": False}, told=False)
    both = united(coach.changes, rob.changes)
    assert both == united(rob.changes, coach.changes)
    assert [moved(one) for one in both[2:]] == [
        {"sway.limit_cm": 4.0},
        {"hand_stall.limit_deg": 10.0},
        {"hand_stall.on": False},
    ]
    assert {key: one.who for key, one in newest(both).items()} == {
        "sway.limit_cm": "Rob",
        "hand_stall.limit_deg": "coach",
        "hand_stall.on": "Rob",
    }


def test_of_two_inferences_the_one_that_blames_for_less_stands() -> None:
    """One side had mixed both lines before; in its own line Rob changed one limit only."""
    coach, rob = Side("coach"), Side("Rob")
    for side in (coach, rob):
        side.set(0, {"sway.limit_cm": 2.0}, told=False)
    coach.changes = rob.changes[:1]
    coach.set(1, {"hand_stall.limit_deg": 10.0}, told=False)
    change = rob.set(2, {"sway.limit_cm": 4.0}, told=False)
    coach.changes.append(rob.changes[-1])
    assert len(moved(in_line(coach.changes)[-1])) == 2
    for both in (united(coach.changes, rob.changes), united(rob.changes, coach.changes)):
        assert both[-1].uid == change.uid
        assert moved(both[-1]) == {"sway.limit_cm": 4.0}


def test_a_limit_edited_in_the_file_is_found_out() -> None:
    side = Side("coach")
    side.set(1, {"sway.limit_cm": 4.0})
    assert as_recorded(side.changes, side.values) == side.values
    for key, value in {"sway.limit_cm": 3.0, "hand_stall.limit_deg": 15.0}.items():
        by_hand = {**side.values, key: value}
        assert as_recorded(side.changes, by_hand) == side.values
