"""Posture on the rendered clips, with the true pose model: within its targets, faulty checks named, good ones not."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.test_posture_stills import TARGETS
from trainer.coaching.posture.measure import faults, measure, setup
from trainer.coaching.posture.ranges import DEFAULTS
from trainer.live.posture import Looked, look
from trainer.vision.clip import Clip

AT_S = 0.6  # still at address in every clip but the one that begins with a rehearsal
CLIPS = (
    "T01_good", "T02_early_look", "T03_hand_stall", "T04_early_look_bowed_cap", "T06_left_hander_prelook", "T07_recoil",
    "T08_dtl_good", "T09_dtl_poor_posture", "T10_long_sway_early", "T11_60fps_good",
)  # fmt: skip


@pytest.fixture(scope="module")
def model() -> Any:
    from trainer.vision.body import PoseBody

    body = PoseBody()
    yield body
    body.close()


def seen(clips: Path, name: str, model: Any) -> tuple[Looked, dict[str, Any]]:
    truth = json.loads((clips / f"{name}.json").read_text(encoding="utf-8"))
    with Clip(clips / f"{name}.mp4") as clip:
        image = next(frame.image for frame in clip if frame.time_s >= AT_S)
    height = truth["setup"]["height_cm"]
    return look(model, image, None, None, None, height, find_ball=True, others=True), truth


@pytest.mark.parametrize("name", CLIPS)
def test_the_setup_of_a_clip_is_within_the_targets(clips: Path, name: str, model: Any) -> None:
    found, truth = seen(clips, name, model)
    assert found.seen is not None, found.hints
    assert found.recognised is not None
    assert (found.recognised.view, found.recognised.handedness) == (truth["view"], truth["handedness"])
    for measured, value in measure(found.seen).items():
        if measured in TARGETS:
            assert value.value is not None, (measured, value.reason)
            assert abs(value.value - truth["setup"][measured]) <= TARGETS[measured], measured


@pytest.mark.parametrize("name", ["T08_dtl_good", "T09_dtl_poor_posture"])
def test_faulty_checks_are_named_and_good_ones_are_not(clips: Path, name: str, model: Any) -> None:
    found, truth = seen(clips, name, model)
    assert found.seen is not None
    named = {check.name for check in faults(setup(found.seen))}
    for measured in ("eye_line_cm", "hands_plumb_cm", "spine_tilt_deg", "knee_flex_deg", "elbow_deg"):
        bounds, true = DEFAULTS["down-the-line"][measured], truth["setup"][measured]
        assert (measured in named) == (not bounds.low <= true <= bounds.high), measured
