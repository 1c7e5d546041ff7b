"""The verdict on records made by hand: each fault beside its limit, switched off, unseen, unsure; judging is pure."""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Any, Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trainer.coaching.faults import DOUBT, Basis, indeterminate, judge, verdict
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.record import SIGNAL_NAMES, Events, Measure, Signals, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limits

TAKE, TOP, IMPACT, FINISH, SETTLE = 1.5, 2.2, 2.5, 2.9, 3.0
END = 6.0
UNITS = {
    "hinge_change_deg": "deg",
    "recoil_cm": "cm",
    "head_with_putter_cm": "cm",
    "lift_cm": "cm",
    "hands_to_putter_stop": "1",
}
SIMPLE = {"hand_stall": "hinge_change_deg", "recoil": "recoil_cm", "sway": "head_with_putter_cm", "lift": "lift_cm"}
QUIET = {
    "hinge_change_deg": 4.0,
    "recoil_cm": 0.3,
    "head_with_putter_cm": 0.8,
    "lift_cm": 0.4,
    "hands_to_putter_stop": 0.5,
}
TURN_RATE = 100.0  # deg/s of the head's turn in these records


def turned(look_s: float | None, limit_deg: float = 12.0) -> np.ndarray:
    """Head turn at 100 frames a second that passes limit_deg at look_s at a steady rate, and stays."""
    t = np.arange(0.0, END, 0.01)
    return np.zeros(len(t)) if look_s is None else np.clip((t - look_s) * TURN_RATE + limit_deg, 0, 50)


def made(
    look_s: float | None = SETTLE + 1.5,
    settle_s: float | None = SETTLE,
    conf: float = 0.9,
    turn_conf: float = 0.9,
    values: Mapping[str, float | None] | None = None,
) -> StrokeRecord:
    """A quiet stroke, held for 1.5 s unless told otherwise; ``values`` are put into its measures."""
    t = np.arange(0.0, END, 0.01)
    columns = {name: np.full(len(t), np.nan) for name in SIGNAL_NAMES}
    columns["head_turn_deg"] = turned(look_s) + 3.0  # the reference's offset must not matter
    columns["head_turn_conf"] = np.full(len(t), turn_conf)
    measures = {n: Measure(v, UNITS[n], conf) for n, v in {**QUIET, **(values or {})}.items()}
    measures["head_turn_deg"] = Measure(2.0, "deg", turn_conf)
    events = Events(TAKE, TOP, IMPACT, FINISH, settle_s, look_s)
    return StrokeRecord("ball", events, measures, Signals(t, np.arange(len(t)), columns))


def names(record: StrokeRecord, limits: Limits | None = None) -> list[str]:
    return [f.name for f in judge(record, limits or Limits())]


def limits_with(name: str, **change: Any) -> Limits:
    limits = Limits()
    return limits.changed(name, **change)


def test_a_quiet_stroke_that_is_held_has_no_fault() -> None:
    assert judge(made(), Limits()) == ()


def test_a_stroke_without_a_look_has_no_fault() -> None:
    assert judge(made(look_s=None), Limits()) == ()


# -- measures against their limits ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", SIMPLE)
def test_past_the_limit_by_more_than_the_doubt_is_a_fault_and_nothing_less_is(name: str) -> None:
    limit = getattr(Limits(), name)
    edge = limit.value + DOUBT[name]
    assert names(made(values={SIMPLE[name]: edge - 0.01})) == []
    (fault,) = judge(made(values={SIMPLE[name]: edge + 0.01}), Limits())
    assert (fault.name, fault.value, fault.limit, fault.unit) == (name, edge + 0.01, limit.value, limit.unit)


@pytest.mark.parametrize("name", SIMPLE)
def test_each_limit_can_be_set_and_switched_off(name: str) -> None:
    value = getattr(Limits(), name).value * 2
    record = made(values={SIMPLE[name]: value})
    assert names(record) == [name]
    assert names(record, limits_with(name, on=False)) == []
    assert names(record, limits_with(name, value=value)) == []
    assert names(record, limits_with(name, value=value - DOUBT[name] - 0.01)) == [name]


@pytest.mark.parametrize("name", SIMPLE)
def test_what_was_not_seen_is_not_judged(name: str) -> None:
    assert names(made(values={SIMPLE[name]: None})) == []


@pytest.mark.parametrize("name", SIMPLE)
def test_what_was_not_seen_surely_is_not_judged(name: str) -> None:
    value = {SIMPLE[name]: getattr(Limits(), name).value * 2}
    assert names(made(values=value, conf=MIN_CONFIDENCE)) == [name]
    assert names(made(values=value, conf=MIN_CONFIDENCE - 0.001)) == []


def test_a_stroke_of_an_earlier_release_is_judged_by_what_it_has() -> None:
    """Those know only how far the head moved, whichever way."""
    old = made()
    measures = {name: m for name, m in old.measures.items() if name != "head_with_putter_cm"}
    for cm, expected in ((-5.0, ["sway"]), (5.0, ["sway"]), (1.0, [])):
        assert names(replace(old, measures={**measures, "sway_cm": Measure(cm, "cm", 0.9)})) == expected
    today = replace(old, measures={**old.measures, "sway_cm": Measure(-5.0, "cm", 0.9)})
    assert names(today) == []  # far, but not along with the putter


def test_a_head_with_the_putter_is_one_a_head_against_it_or_down_is_none() -> None:
    assert names(made(values={"head_with_putter_cm": 5.0})) == ["sway"]
    assert names(made(values={"head_with_putter_cm": -5.0})) == []
    assert names(made(values={"lift_cm": 5.0})) == ["lift"]
    assert names(made(values={"lift_cm": -5.0})) == []  # a head that sinks does not rise
    assert names(made(values={"hinge_change_deg": -20.0})) == []  # the hands lead: no stall


def test_hands_that_stop_make_a_smaller_angle_a_stall() -> None:
    """The second sign: hands under 30 % of their speed at impact while the putter head is over 60 % of its own."""
    near = {"hinge_change_deg": 11.0}
    assert names(made(values={**near, "hands_to_putter_stop": 0.5})) == []
    assert names(made(values={**near, "hands_to_putter_stop": 0.1})) == ["hand_stall"]
    assert names(made(values={"hinge_change_deg": 8.0, "hands_to_putter_stop": 0.1})) == []
    assert names(made(values={**near, "hands_to_putter_stop": None})) == []


def test_hands_that_go_on_leave_an_angle_not_far_past_the_limit_undecided() -> None:
    """Both signs are needed there; a far larger angle, or one whose hands were not seen, tells by itself."""
    past = {"hinge_change_deg": 15.0}
    assert names(made(values={**past, "hands_to_putter_stop": 0.7})) == []
    assert indeterminate(made(values={**past, "hands_to_putter_stop": 0.7}), Limits()) == ("hand_stall",)
    assert names(made(values={**past, "hands_to_putter_stop": 0.4})) == ["hand_stall"]
    assert names(made(values={**past, "hands_to_putter_stop": None})) == ["hand_stall"]
    assert names(made(values={"hinge_change_deg": 19.0, "hands_to_putter_stop": 0.7})) == ["hand_stall"]


# -- the look against the rest -------------------------------------------------------------------------------------------
def test_a_look_before_the_putter_has_settled_is_early_by_the_time_between() -> None:
    look = SETTLE - 0.2
    (fault,) = judge(made(look_s=look), Limits())
    assert fault.name == "early_look"
    assert fault.at_s == pytest.approx(look, abs=0.02)
    assert fault.value == pytest.approx(0.2, abs=0.005)


@pytest.mark.parametrize("after_s", [-0.055, -0.03, 0.0, 0.03, 0.055])
def test_a_look_about_the_rest_is_neither_early_nor_held(after_s: float) -> None:
    found = verdict(made(look_s=SETTLE + after_s), Limits())
    assert (found.faults, found.indeterminate, found.too_close) == ((), (), True)


@pytest.mark.parametrize(("after_s", "called"), [(-0.07, "early_look"), (0.07, "short_hold")])
def test_a_look_farther_from_rest_is_called(after_s: float, called: str) -> None:
    found = verdict(made(look_s=SETTLE + after_s), Limits())
    assert ([f.name for f in found.faults], found.too_close) == ([called], False)
    (fault,) = found.faults
    assert fault.value == pytest.approx(0.07, abs=0.005)  # what is judged is what is printed


def test_with_early_look_switched_off_nothing_is_too_close() -> None:
    found = verdict(made(look_s=SETTLE - 0.03), limits_with("early_look", on=False))
    assert ([f.name for f in found.faults], found.too_close) == (["short_hold"], False)


def test_a_head_hardly_seen_is_not_sure_rather_than_too_close() -> None:
    found = verdict(made(look_s=SETTLE, turn_conf=0.1), Limits())
    assert not found.too_close
    assert set(found.indeterminate) == {"early_look", "short_hold"}


@pytest.mark.parametrize(
    ("held_s", "expected"), [(0.3, ["short_hold"]), (0.97, ["short_hold"]), (0.985, []), (1.02, []), (2.0, [])]
)
def test_a_hold_shorter_than_asked(held_s: float, expected: list[str]) -> None:
    found = judge(made(look_s=SETTLE + held_s), Limits())
    assert [f.name for f in found] == expected
    if found:
        assert found[0].value == pytest.approx(held_s, abs=0.02)


def test_the_hold_asked_for_is_a_setting() -> None:
    record = made(look_s=SETTLE + 1.5)
    assert names(record, limits_with("short_hold", value=2.0)) == ["short_hold"]
    assert names(record, limits_with("short_hold", value=2.0, on=False)) == []


def test_the_turn_that_counts_as_a_look_is_a_setting() -> None:
    t = np.arange(0.0, END, 0.01)
    record = made(look_s=None)
    record.signals.columns["head_turn_deg"][:] = np.where(t > 2.6, 10.0, 0.0)  # a peek of 10 degrees
    assert names(record) == []
    assert names(record, limits_with("early_look", value=8.0)) == ["early_look"]


def test_with_early_look_switched_off_such_a_look_is_a_hold_of_nothing() -> None:
    (fault,) = judge(made(look_s=SETTLE - 0.2), limits_with("early_look", on=False))
    assert (fault.name, fault.value) == ("short_hold", 0.0)


def test_a_putter_that_never_settles_makes_any_look_early() -> None:
    assert names(made(look_s=4.0, settle_s=None)) == ["early_look"]
    assert names(made(look_s=None, settle_s=None)) == []


def test_a_twitch_of_the_head_is_no_look() -> None:
    record = made(look_s=None)
    record.signals.columns["head_turn_deg"][250:256] += 20.0  # 0.06 s
    assert Basis(record).look(Limits()).look_s is None
    assert names(record) == []


def test_a_head_turning_away_from_the_target_is_no_look() -> None:
    record = made(look_s=None)
    record.signals.columns["head_turn_deg"][250:] -= 30.0
    assert names(record) == []


def test_a_look_before_the_stroke_is_no_look() -> None:
    record = made()
    record.signals.columns["head_turn_deg"][20:70] += 40.0
    assert names(record) == []


@pytest.mark.parametrize("turn_conf", [0.0, 0.3])
def test_a_head_hardly_seen_is_not_judged(turn_conf: float) -> None:
    assert names(made(look_s=SETTLE - 0.3, turn_conf=turn_conf)) == []


def test_a_record_without_events_has_no_fault_of_the_head() -> None:
    record = made(look_s=SETTLE - 0.3)
    assert names(replace(record, events=Events())) == []


# -- judging as a whole --------------------------------------------------------------------------------------------------
def test_faults_come_in_order_of_time() -> None:
    record = made(look_s=SETTLE - 0.2, values={"hinge_change_deg": 20.0, "recoil_cm": 6.0, "head_with_putter_cm": 6.0})
    found = judge(record, Limits())
    assert {f.name for f in found} == {"early_look", "hand_stall", "recoil", "sway"}
    assert [f.at_s for f in found] == sorted(f.at_s for f in found)


def test_judging_is_pure() -> None:
    record = made(look_s=SETTLE - 0.2, values={"hinge_change_deg": 20.0})
    before = copy.deepcopy(record)
    first = judge(record, Limits())
    judge(record, limits_with("hand_stall", value=30.0))
    assert judge(record, Limits()) == first
    assert record.events == before.events
    assert record.measures == before.measures
    for name, column in before.signals.columns.items():
        assert np.array_equal(record.signals.columns[name], column, equal_nan=True)


value = st.one_of(st.none(), st.floats(-40, 40))
confidence = st.floats(0, 1)
look = st.one_of(st.none(), st.floats(TAKE + 0.1, END - 0.5))


@given(look, st.one_of(st.none(), st.floats(IMPACT + 0.1, 4.0)), confidence, confidence, st.data())
def test_a_stricter_limit_never_takes_a_fault_away(
    look_s: float | None, settle_s: float | None, conf: float, turn_conf: float, data: st.DataObject
) -> None:
    record = made(look_s, settle_s, conf, turn_conf, {n: data.draw(value, label=n) for n in QUIET})
    found = names(record)
    assert len(found) == len(set(found))
    assert set(found) <= set(FAULT_NAMES)
    assert not {"early_look", "short_hold"} <= set(found)
    for name in SIMPLE:
        strict = getattr(Limits(), name).low
        assert name not in found or name in names(record, limits_with(name, value=strict))
    for name in FAULT_NAMES:
        assert name not in names(record, limits_with(name, on=False))
