"""What is shown from moment to moment: the dial tells no result before its time, a stroke not counted says so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.domain.observation import Frame, Observation
from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState
from trainer.feedback.schedule import ALL, NOTHING, FeedbackLevel
from trainer.feedback.signs import UNCOUNTED_WORD, Sign
from trainer.live.display_types import GestureView, Targets
from trainer.live.pipeline import StepResult
from trainer.live.practice_state import DisplayStateBuilder, TurnSign

TAKEN = LiveState(1.0, Phase.BACKSTROKE, Events(takeaway_s=1.0), ("takeaway_s",))
HELD = LiveState(4.0, Phase.HOLD, Events(takeaway_s=1.0, settle_s=2.5), turn_deg=1.0, held_s=1.5)
FRAME = Frame(0, 0.0, np.zeros((4, 4, 3), np.uint8))


def turned(moment: LiveState, deg: float = 45.0) -> LiveState:
    return replace(moment, turn_deg=deg, phase=Phase.LOOKED if moment.held_s else moment.phase)


def dials(*moments: LiveState, told: bool = True, asks: bool = False) -> list[str]:
    turn = TurnSign()
    return [turn.dial(moment, Targets(), told, asks) for moment in moments]


def test_a_look_after_the_hold_is_no_fault() -> None:
    assert dials(TAKEN, HELD, turned(HELD)) == ["plain", "plain", "plain"]


@pytest.mark.parametrize("held_s", [None, 0.4])
def test_a_look_before_it_is_and_stays_one(held_s: float | None) -> None:
    early = turned(replace(HELD, held_s=held_s))
    assert dials(TAKEN, early, turned(HELD)) == ["plain", "alarm", "alarm"]
    assert dials(TAKEN, early, TAKEN, HELD, turned(HELD))[2:] == ["plain", "plain", "plain"]  # the next stroke


def test_a_look_too_close_to_call_is_none_once_that_is_known() -> None:
    open_ = replace(HELD, held_s=None, time_s=2.53, events=Events(takeaway_s=1.0), turn_deg=20.0, phase=Phase.FOLLOW)
    known = turned(replace(HELD, time_s=2.7, held_s=0.2))
    assert dials(TAKEN, open_, known) == ["plain", "alarm", "plain"]


def test_a_head_turned_at_address_is_no_fault() -> None:
    assert dials(LiveState(0.5, Phase.ADDRESS, Events(), turn_deg=50.0)) == ["plain"]


def test_without_feedback_and_while_it_is_asked_the_dial_is_hidden() -> None:
    early = turned(replace(HELD, held_s=None))
    assert dials(TAKEN, early, told=False) == ["hidden", "hidden"]
    after = LiveState(6.0, Phase.SETTING, Events(), turn_deg=45.0)
    assert dials(TAKEN, early, after, asks=True) == ["hidden"] * 3


def seen(moment: LiveState, level: FeedbackLevel = ALL) -> StepResult:
    return StepResult(Observation(0, moment.time_s), moment, None, None, level)


def test_the_state_carries_it() -> None:
    builder = DisplayStateBuilder()
    builder.see(FRAME, seen(TAKEN))
    early = turned(replace(HELD, held_s=None))
    assert builder.see(FRAME, seen(early)).dial == "alarm"
    assert builder.see(FRAME, seen(early), GestureView(asks=True)).dial == "hidden"
    assert builder.see(FRAME, seen(early, NOTHING)).dial == "hidden"


def test_a_stroke_not_counted_does_not_bring_the_last_result_back() -> None:
    builder = DisplayStateBuilder()
    last = Sign("Early look", "", "fault")
    builder._view = replace(builder._view, sign=last)
    builder.see(FRAME, seen(TAKEN))
    dropped = LiveState(2.0, Phase.SETTING, Events(), uncounted="the player went out of sight")
    sign = builder.see(FRAME, seen(dropped)).sign
    assert sign == Sign(UNCOUNTED_WORD, "the player went out of sight", "plain")
    # A waggle is none: the result still stands.
    builder.see(FRAME, seen(TAKEN))
    assert builder.see(FRAME, seen(replace(dropped, uncounted=""))).sign == sign
