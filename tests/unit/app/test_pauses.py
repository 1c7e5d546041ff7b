"""When a pause is proposed, and that it takes no result's place."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.app.practice.pauses import PAUSE, TAKEN_S, Pauses
from trainer.domain.observation import Frame, Observation
from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState
from trainer.live.pipeline import StepResult
from trainer.live.practice_state import NEWS_AFTER_S, DisplayStateBuilder

FRAME = Frame(0, 0.0, np.zeros((4, 4, 3), np.uint8))


class Player:
    """Moments through pauses and signs, ten a second. shown: the times at which the proposal came up."""

    def __init__(self) -> None:
        self.pauses, self.signs, self.now_s = Pauses(), DisplayStateBuilder(), 0.0
        self.shown: list[float] = []
        self.said: list[str] = []

    def be(self, phase: Phase, lasts_s: float, begins: bool = False) -> None:
        for i in range(round(lasts_s * 10)):
            new = ("takeaway_s",) if begins and i == 0 else ()
            moment = LiveState(self.now_s, phase, Events(), new)  # type: ignore[arg-type]
            state = self.signs.see(FRAME, StepResult(Observation(0, self.now_s), moment, None, None))
            if lines := self.pauses.follow(moment, self.signs, state.sign):
                assert (state.sign, phase) == (PAUSE, Phase.SETTING)
                self.said += lines
                self.shown.append(self.now_s)
            self.now_s += 0.1

    def stroke(self, rest_s: float = 8.0) -> None:
        self.be(Phase.ADDRESS, 1.0)
        self.be(Phase.BACKSTROKE, 1.0, begins=True)
        self.be(Phase.HOLD, 1.5)
        self.pauses.kept()
        self.be(Phase.SETTING, rest_s)


def test_every_twenty_strokes() -> None:
    player = Player()
    for number in range(1, 46):
        player.stroke()
        assert len(player.shown) == number // 20, number
    assert player.said == ["time for a pause: stand up straight, look far away; go on when you like"] * 2


def test_ten_minutes_too() -> None:
    player = Player()
    for _ in range(14):
        player.stroke(rest_s=45.0)
    assert player.shown == [pytest.approx(600 + NEWS_AFTER_S, abs=10)]


def test_the_next_stroke_goes_before_and_it_is_proposed_after_that() -> None:
    player = Player()
    for _ in range(22):
        player.stroke(rest_s=NEWS_AFTER_S - 1)
    assert player.shown == []
    player.stroke()
    assert len(player.shown) == 1


def test_who_was_away_had_a_pause() -> None:
    player = Player()
    for number in range(30):
        player.stroke()
        if number == 14:
            player.be(Phase.AWAY, TAKEN_S + 1)
    assert player.shown == []
