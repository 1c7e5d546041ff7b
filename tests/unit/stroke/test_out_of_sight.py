"""Points that go out of sight at any moment: what is told is a number with a confidence, or nothing with a reason."""

from __future__ import annotations

import math
import warnings
from dataclasses import fields

import numpy as np
import pytest

from trainer.domain.record import LiveState, StrokeRecord
from trainer.stroke.signals import sample_of
from trainer.stroke.tracker import Tracker
from trainer.testing.simulate import Scene, ordinary_stroke
from trainer.testing.simulate_observations import Noise, observations

POINTS = (
    ("putter_along_px", "putter_up_px", "putter_conf", "shaft_deg"),
    ("hands_along_px", "hands_up_px", "hands_conf"),
    ("lead_elbow_along_px", "lead_elbow_up_px", "forearm_conf"),
    ("head_turn_deg", "head_turn_conf", "head_along_px", "head_up_px"),
    ("ball_along_px", "ball_up_px", "ball_diameter_px", "ball_conf"),
    ("lead_shoulder_along_px", "lead_shoulder_up_px"),
    ("lead_ankle_along_px", "lead_ankle_up_px"),
)


def told(seed: int) -> tuple[list[LiveState], list[StrokeRecord]]:
    """A stroke of which each point is lost now and then, for a frame or for long."""
    rng = np.random.default_rng(seed)
    seen = observations(Scene((ordinary_stroke(rng),)), 30.0, Noise(), rng)
    rows = [dict(sample_of(one)) for one in seen]
    for point in POINTS:
        for lasts_s in rng.choice([0.0, 0.04, 0.3, 2.0], size=2):
            lost_s = rng.uniform(0.0, seen[-1].time_s)
            for one, row in zip(seen, rows, strict=True):
                if lost_s <= one.time_s < lost_s + lasts_s:
                    row.update(dict.fromkeys(point, math.nan))
    tracker = Tracker()
    states = [tracker.update_row(one.index, one.time_s, row, one.frame) for one, row in zip(seen, rows, strict=True)]
    last = tracker.finish()
    return states, [r for r in (*(state.closed for state in states), last) if r is not None]


@pytest.mark.parametrize("seed", range(10))
def test_no_number_is_none_in_disguise(seed: int) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        states, records = told(seed)
    for state in states:
        numbers = {f.name: v for f in fields(state) if isinstance(v := getattr(state, f.name), float)}
        assert all(math.isfinite(v) for v in numbers.values()), numbers
    for measure in (m for record in records for m in record.measures.values()):
        assert measure.reason if measure.value is None else math.isfinite(measure.value)
        assert 0.0 <= measure.confidence <= 1.0
