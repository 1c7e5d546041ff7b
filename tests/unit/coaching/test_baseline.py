"""Limits from rehearsals: what they do to strokes that are longer than those that they rest on."""

from __future__ import annotations

from typing import Sequence

import numpy as np
import pytest

from tests.bench.baseline_limits import before, called, let_pass_deg
from tests.support.made_strokes import record
from tests.support.paths import shared_folder
from tests.support.truth import read_truth
from trainer.coaching.baseline import BOUNDS, FEWEST, lengths_cm, proposals
from trainer.coaching.faults import DOUBT, judge
from trainer.domain.measures import LIMITED
from trainer.domain.record import Measure
from trainer.settings.limits import Limits

QUIET = [{LIMITED["hand_stall"].name: Measure(2.0 + 0.4 * k, "deg", 0.9)} for k in range(8)]


def proposed(fault: str, strokes: list[dict[str, Measure]]) -> float:
    return {p.fault: p.value for p in proposals(strokes, Limits())}[fault]


def test_a_long_stroke_without_a_stall_is_none_by_limits_from_short_quiet_ones() -> None:
    was = before([stroke["hinge_change_deg"].value or 0.0 for stroke in QUIET])
    long = record(hinge_deg=9.2, back_cm=55.0)
    assert "hand_stall" in [f.name for f in judge(long, Limits().changed("hand_stall", was - DOUBT["hand_stall"]))]
    assert "hand_stall" not in [
        f.name for f in judge(long, Limits().changed("hand_stall", proposed("hand_stall", QUIET)))
    ]


def test_every_rendered_stroke_without_a_stall_is_left_alone_and_each_with_one_is_not() -> None:
    folder = shared_folder() / "clips"
    if not folder.is_dir():
        pytest.skip("no rendered clips")
    tight, loose = (
        bound + DOUBT["hand_stall"] for bound in (BOUNDS["hand_stall"].tightest, BOUNDS["hand_stall"].loosest)
    )
    for path in sorted(folder.glob("T*.json")):
        for stroke in read_truth(path).strokes:
            hinge = stroke.measures["hinge_change_deg"] or 0.0
            assert hinge > loose if "hand_stall" in stroke.intended else hinge < tight


def test_false_alarms_stay_those_of_the_default_at_every_length() -> None:
    for back_cm in (25.0, 55.0):
        was, now, default = called(back_cm, 60)
        assert now <= default + 0.01
        assert was > now
    assert called(55.0, 60)[0] > 0.5


@pytest.mark.parametrize("habit_deg", [14.0, 18.0, 25.0])
def test_a_habit_is_not_excused(habit_deg: float) -> None:
    was, now = let_pass_deg(habit_deg, 40)
    assert now <= BOUNDS["hand_stall"].loosest < was


def test_bounds_hold_the_default_and_never_pass_a_limits_own_range() -> None:
    rng = np.random.default_rng(3)
    for fault, bounds in BOUNDS.items():
        limit = Limits().limit(fault)
        assert limit.low <= bounds.tightest <= limit.value <= bounds.loosest <= limit.high
        for size in (0.1, 1.0, 10.0, 60.0):
            strokes = [
                {LIMITED[fault].name: Measure(float(v), limit.unit, 0.9)} for v in rng.normal(size, 0.3 * size, 8)
            ]
            assert bounds.tightest <= proposed(fault, strokes) <= bounds.loosest


def of(fault: str, values: Sequence[float]) -> list[dict[str, Measure]]:
    return [{LIMITED[fault].name: Measure(value, Limits().limit(fault).unit, 0.9)} for value in values]


@pytest.mark.parametrize(("fault", "far"), [("sway", 6.0), ("lift", 5.0), ("early_look", 25.0), ("recoil", 6.0)])
def test_what_goes_the_other_way_is_no_fault_and_loosens_no_limit(fault: str, far: float) -> None:
    there, away = (of(fault, [sign * (far + 0.1 * k) for k in range(8)]) for sign in (1.0, -1.0))
    assert (proposed(fault, there), proposed(fault, away)) == (BOUNDS[fault].loosest, BOUNDS[fault].tightest)


def test_of_too_few_strokes_nothing_is_proposed() -> None:
    seen = of("sway", [4.0] * FEWEST)
    for strokes, proposes in ((seen[1:], False), ([{}, *seen[1:]], False), (seen, True)):
        (found,) = [p for p in proposals(strokes, Limits()) if p.fault == "sway"]
        assert (found.changes, found.spread is not None) == (proposes, proposes)


def test_a_proposal_is_one_of_the_limits_own_steps() -> None:
    between = proposed("hand_stall", of("hand_stall", [13.1, 13.2, 13.3, 13.2, 13.1, 13.2]))
    assert BOUNDS["hand_stall"].tightest < between < BOUNDS["hand_stall"].loosest
    assert between % 0.5 == 0
    assert (100 * proposed("sway", of("sway", [3.81, 3.84, 3.87, 3.84, 3.81]))) % 10 == pytest.approx(0)


def test_it_says_what_lengths_it_rests_on() -> None:
    assert lengths_cm([record(back_cm=back).measures for back in (22.0, 18.0, 25.0)]) == (18.0, 25.0)
    assert lengths_cm([{}]) is None
