"""What looked like a stroke and is not counted says so and why, once; a waggle says nothing, nor does a stroke that counts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Sequence

import numpy as np

from tests.support.practice_stage import stroke
from trainer.domain.observation import Observation
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_moves import SimWaggle
from trainer.testing.simulate_observations import Noise, observations


def said(seen: Sequence[Observation]) -> tuple[list[str], int]:
    """Reasons told, and strokes counted."""
    tracker = Tracker()
    moments = [tracker.update(one) for one in seen]
    return [m.uncounted for m in moments if m.uncounted], sum(m.closed is not None for m in moments)


def test_a_stroke_that_counts_says_nothing() -> None:
    assert said(stroke(1.3)) == ([], 1)


def test_a_player_out_of_sight_before_the_ball_is_reached() -> None:
    gone = [replace(o, body=None, head=None, putter=None) if 3.0 <= o.time_s < 4.2 else o for o in stroke(1.3)]
    assert said(gone) == (["the player went out of sight"], 0)


def test_another_player_in_the_middle_of_it() -> None:
    """From one frame to the next the whole figure stands elsewhere."""
    moved = [o if o.time_s < 2.9 or o.body is None else replace(o, body=shifted(o, 120.0)) for o in stroke(1.3)]
    assert said(moved) == (["the whole player moved along with it"], 0)


def shifted(seen: Observation, along_px: float) -> dict[str, Any]:
    assert seen.body is not None
    return {name: point._replace(along_px=point.along_px + along_px) for name, point in seen.body.items()}


def test_a_waggle_says_nothing() -> None:
    made = SimStroke(5.0, look_s=7.6)
    scene = Scene((made,), 9.5, waggles=(SimWaggle(2.5, 3.0, 2),), seed=3)
    assert said(observations(scene, 30.0, Noise(), np.random.default_rng(3))) == ([], 1)
