"""A clip that plays in slow motion is found out by its strokes; what people do slowly is no slow motion."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trainer.stroke.slow_motion import slowed_by
from trainer.testing.simulate import Scene, ordinary_stroke
from trainer.testing.simulate_idle import DOINGS, idle, idle_observations
from trainer.testing.simulate_observations import Noise, observations


@pytest.mark.parametrize(("times", "fps"), [(4, 120), (8, 240), (10, 240)])
def test_a_stroke_that_plays_slowly_is_found_out(times: int, fps: int) -> None:
    rng = np.random.default_rng(times)
    scene = Scene((ordinary_stroke(rng, 1.5),), 5.0, seed=times)
    slow = [replace(o, time_s=o.time_s * times) for o in observations(scene, fps, Noise(), rng)][:: fps // 120]
    assert slowed_by(slow) == min(times, 8)


@pytest.mark.parametrize("doing", DOINGS)
def test_what_is_no_stroke_is_no_slow_one_either(doing: str) -> None:
    assert slowed_by(idle_observations(idle(40.0, 3, (doing,)), 30.0, Noise(), np.random.default_rng(3))) is None
