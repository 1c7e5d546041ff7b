"""What players do around the stroke that is no part of it: a waggle right into it, a backstroke given up, a pause at the top."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from tests.support.observations import watch
from trainer.domain.record import Floats, StrokeRecord
from trainer.testing.simulate import RADIUS_CM, Scene, SimStroke
from trainer.testing.simulate_moves import SimWaggle, reach
from trainer.testing.simulate_observations import Noise, observations

BACK_CM = math.sin(math.radians(10.0)) * RADIUS_CM


@dataclass(frozen=True, slots=True)
class GivenUp(SimWaggle):
    """A backstroke that is brought back to the ball: half of the time either way."""

    def hands_deg(self, t: Floats) -> Floats:
        half = self.lasts_s / 2
        return -self.deg * (reach((t - self.start_s) / half) - reach((t - self.start_s - half) / half))


def only(scene: Scene, fps: float = 30.0) -> StrokeRecord:
    return watch(observations(scene, fps, Noise(), np.random.default_rng(1))).record


@pytest.mark.parametrize("fps", [30.0, 60.0])
@pytest.mark.parametrize("deg", [2.5, 5.0])
def test_a_waggle_that_goes_right_into_the_stroke(deg: float, fps: float) -> None:
    """Nearly two seconds without a rest: the short pause behind the ball is the address."""
    stroke = SimStroke(3.1)
    waggles = (SimWaggle(1.2, deg), SimWaggle(2.1, deg))
    found = only(Scene((stroke,), 6.5, waggles), fps)
    assert found.kind == "ball"
    assert found.events.at("takeaway_s") == pytest.approx(stroke.start_s + 0.1, abs=0.07)
    assert found.events.at("impact_s") == pytest.approx(stroke.impact_s, abs=0.02)
    assert found.measures["back_cm"].value == pytest.approx(BACK_CM, abs=1.3)


@pytest.mark.parametrize("deg", [2.0, 4.0, 7.0])
def test_a_backstroke_given_up_and_begun_again_without_a_pause(deg: float) -> None:
    stroke = SimStroke(2.75)
    found = only(Scene((stroke,), 6.0, (GivenUp(1.5, deg, lasts_s=1.2),)))
    assert found.kind == "ball"
    assert found.events.at("takeaway_s") == pytest.approx(stroke.start_s + 0.1, abs=0.07)
    assert found.measures["back_cm"].value == pytest.approx(BACK_CM, abs=1.3)


@pytest.mark.parametrize("dwell_s", [0.05, 0.2, 0.4, 0.5])
def test_the_top_is_the_middle_of_a_pause_however_long(dwell_s: float) -> None:
    stroke = SimStroke(1.5, dwell_s=dwell_s)
    assert only(Scene((stroke,), 5.0)).events.at("top_s") == pytest.approx(stroke.top_s, abs=0.035)


def test_where_no_ball_lies_a_short_pause_is_no_address() -> None:
    waggles = tuple(SimWaggle(1.0 + 0.9 * k, 4.0, cycles=2) for k in range(8))
    unseen = watch(o for o in observations(Scene((), 9.0, waggles), 30.0, Noise(), np.random.default_rng(1)))
    assert not unseen.records
