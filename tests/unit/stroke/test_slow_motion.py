"""A clip that plays in slow motion is found out by its strokes; what people do slowly is no slow motion."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.made_strokes import record
from trainer.domain.record import Events
from trainer.stroke.slow_motion import SLOWEST_BACK_S, SLOWEST_FORWARD_S, plays_slowly, slowed_by
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


@pytest.mark.parametrize(
    ("back_s", "forward_s", "slow"),
    [(0.05, 0.05, True), (-0.05, 0.05, False), (0.05, -0.05, False), (-0.05, -0.05, False)],
)
def test_only_what_is_slow_both_back_and_forward_is_slower_than_a_person(
    back_s: float, forward_s: float, slow: bool
) -> None:
    """back_s, forward_s: past the slowest that a person's takes. A long pause at the top alone is no slow motion."""
    top = 1.0 + SLOWEST_BACK_S + back_s
    made = replace(record(), events=Events(takeaway_s=1.0, top_s=top, impact_s=top + SLOWEST_FORWARD_S + forward_s))
    assert plays_slowly(made) is slow
    assert not plays_slowly(replace(made, events=replace(made.events, impact_s=None)))
