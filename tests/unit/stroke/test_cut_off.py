"""A stroke that is no longer watched before its hold is over: what was not seen is not sure, and never called held."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.observations import Watched, watch
from trainer.coaching.faults import DOUBT, indeterminate, judge, verdict
from trainer.coaching.verdict import unjudged
from trainer.domain.record import StrokeRecord, doubt
from trainer.settings.limits import Limits
from trainer.stroke.record_builder import CUT_OFF
from trainer.stroke.stretch import ENDS_SOONER_S
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import EXACT, observations

FPS = 30.0
GOOD = SimStroke(2.0)  # never looks


def until(last_s: float, stroke: SimStroke = GOOD) -> Watched:
    return watch([one for one in observations(Scene((stroke,)), FPS, EXACT) if one.time_s <= last_s])


@pytest.fixture(scope="module")
def settle_s() -> float:
    return until(60.0).record.events.at("settle_s")


def test_watched_long_enough_it_is_without_fault(settle_s: float) -> None:
    record = until(settle_s + 1.1).record
    assert judge(record, Limits()) == ()
    assert indeterminate(record, Limits()) == ()


def test_ended_before_the_hold_was_over_the_hold_is_not_sure(settle_s: float) -> None:
    record = until(settle_s + 0.6).record
    assert judge(record, Limits()) == ()
    assert indeterminate(record, Limits()) == ("short_hold",)
    shorter = Limits().model_copy(update={"short_hold": Limits().short_hold.model_copy(update={"limit_s": 0.5})})
    assert indeterminate(record, shorter) == ()


def test_ended_right_after_rest_a_recoil_is_not_sure_either(settle_s: float) -> None:
    record = until(settle_s + 0.2).record
    assert set(indeterminate(record, Limits())) == {"short_hold", "recoil"}
    assert "early_look" not in unjudged(verdict(record, Limits()))


def test_ended_while_the_putter_moves_nothing_of_it_is_sure(settle_s: float) -> None:
    record = until(settle_s - 0.15).record
    assert doubt(record) == CUT_OFF
    assert record.measures["through_cm"].confidence == 0.0
    assert {"early_look", "short_hold", "hand_stall", "recoil"} <= set(indeterminate(record, Limits()))


def test_a_look_that_came_in_time_is_judged_though_it_ended_soon_after(settle_s: float) -> None:
    early = SimStroke(2.0, look_s=settle_s - 0.5)
    record = until(settle_s + 0.5, early).record
    assert "early_look" in {fault.name for fault in judge(record, Limits())}


def test_a_putter_that_swings_on_for_long_is_no_stroke_cut_off() -> None:
    record = until(60.0, SimStroke(2.0, shake_deg=2.0)).record
    assert doubt(record) == ""


def test_ended_no_sooner_than_a_hold_may_be_off_by_it_is_sure(settle_s: float) -> None:
    """The last picture comes up to a frame before the end, and a hold is called short only beyond what it may be off by."""
    asked_s, sooner_s = Limits().short_hold.value, DOUBT["short_hold"] + ENDS_SOONER_S
    assert indeterminate(ending(settle_s + asked_s - 0.7 * sooner_s), Limits()) == ()
    assert indeterminate(ending(settle_s + asked_s - 1.3 * sooner_s), Limits()) == ("short_hold",)


def ending(last_s: float) -> StrokeRecord:
    """The whole stroke's record, but for its last signals."""
    record = until(60.0).record
    signals = record.signals
    kept = signals.time_s <= last_s
    time_s = np.append(signals.time_s[kept][:-1], last_s)
    columns = {name: values[kept] for name, values in signals.columns.items()}
    return replace(record, signals=replace(signals, time_s=time_s, index=signals.index[kept], columns=columns))
