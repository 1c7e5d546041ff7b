"""A living player's motion on film: a motion-captured putt (CMU Graphics Lab Motion Capture Database, subject 64, trial 13;
mocap.cs.cmu.edu, created with funding from NSF EIA-0196217) drives a rendered figure.

The player looks early and slowly, and drifts.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.accuracy import run_clip
from tests.support.paths import DATA
from tests.support.truth import Truth, read_truth
from trainer.domain.observation import Observation
from trainer.domain.verdict import Cue
from trainer.live.pipeline import Finished

CLIP = DATA / "captured" / "captured_putt.mp4"
Ran = tuple[Truth, list[Observation], Finished, list[Cue]]


@pytest.fixture(scope="module")
def ran() -> Ran:
    truth = read_truth(CLIP.with_suffix(".json"))
    observations, finished, cues = run_clip(CLIP, truth)
    (stroke,) = finished
    return truth, observations, stroke, cues


def test_events_and_lengths_are_the_players(ran: Ran) -> None:
    truth, _, stroke, _ = ran
    (true,), found = truth.strokes, stroke.record
    assert found.kind == true.kind == "ball"
    for name, allowed_s in (("takeaway_s", 0.03), ("top_s", 0.03), ("impact_s", 0.02), ("settle_s", 0.05)):
        assert getattr(found.events, name) == pytest.approx(getattr(true.events, name), abs=allowed_s), name
    for name in ("back_cm", "through_cm"):
        assert found.measures[name].value == pytest.approx(true.measures[name], rel=0.06), name


def test_a_slow_early_look_and_a_drift_are_told_while_the_putter_still_moves(ran: Ran) -> None:
    truth, _, stroke, cues = ran
    assert {f.name for f in stroke.verdict.faults} == set(truth.strokes[0].intended) == {"early_look", "sway"}
    (cue,) = [c for c in cues if c.name == "early_look"]
    assert truth.strokes[0].events.settle_s is not None
    assert cue.at_s < truth.strokes[0].events.settle_s


def test_the_head_turns_as_the_players_did(ran: Ran) -> None:
    truth, observations, _, _ = ran
    turns = [(o.head.turn_deg if o.head else np.nan, t) for o, t in zip(observations, truth.turn_deg)]
    found, true = np.array(turns, float).T
    turning = (np.abs(true) > 4) & (np.abs(true) < 40)
    assert np.isfinite(found[turning]).all()
    assert np.sqrt(np.mean((found - true)[turning] ** 2)) < 4


def test_a_player_who_sways_is_no_camera_that_shakes(ran: Ran) -> None:
    assert not any("camera" in o.advice for o in ran[1])
