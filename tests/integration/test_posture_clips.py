"""Posture on the rendered clips, with the true pose model: within its targets, faulty checks named, good ones not."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.integration.test_posture_stills import TARGETS
from trainer.coaching.posture.address_measures import faults, measure, setup
from trainer.coaching.posture.ranges import DEFAULTS
from trainer.posture.analysis import Given, Looked, look
from trainer.vision.sources.clip import Clip

AT_S = 0.6  # still at address in every clip but the one that begins with a rehearsal
CLIPS = (
    "T01_good", "T02_early_look", "T03_hand_stall", "T04_early_look_bowed_cap", "T06_left_hander_prelook", "T07_recoil",
    "T08_dtl_good", "T09_dtl_poor_posture", "T10_long_sway_early", "T11_60fps_good",
)  # fmt: skip


@pytest.fixture(scope="module")
def model() -> Any:
    from trainer.vision.body.pose import PoseBody

    body = PoseBody()
    yield body
    body.close()


def seen(clips: Path, name: str, model: Any) -> tuple[Looked, dict[str, Any]]:
    truth = json.loads((clips / f"{name}.json").read_text(encoding="utf-8"))
    with Clip(clips / f"{name}.mp4") as clip:
        image = next(frame.image for frame in clip if frame.time_s >= AT_S)
    height = truth["setup"]["height_cm"]
    return look(model, image, Given(height_cm=height), find_ball=True, others=True), truth


@pytest.mark.parametrize("name", CLIPS)
def test_the_setup_of_a_clip_is_within_the_targets(clips: Path, name: str, model: Any) -> None:
    found, truth = seen(clips, name, model)
    assert found.seen is not None, found.hints
    assert found.detected is not None
    assert (found.detected.view, found.detected.handedness) == (truth["view"], truth["handedness"])
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


@pytest.mark.parametrize("name", ["T01_good", "T03_hand_stall", "T06_left_hander_prelook", "T10_long_sway_early"])
def test_what_is_level_and_ahead_face_on_is_so_in_space(clips: Path, name: str, model: Any) -> None:
    """Against the joints' exact places: shoulders within 3 degrees, hands and head against the ball within 3 cm."""
    found, truth = seen(clips, name, model)
    assert found.seen is not None
    place = truth["frames"][round(AT_S * truth["fps"])]["kp3"]
    left = truth["handedness"] == "left"
    lead, trail, sign = ("right", "left", -1.0) if left else ("left", "right", 1.0)

    def at(point: str) -> np.ndarray:
        return np.array(place[point]) * [100 * sign, 100, 100]

    shoulders = at(f"{lead}_shoulder") - at(f"{trail}_shoulder")
    hands = (at(f"{lead}_wrist") + at(f"{trail}_wrist"))[0] / 2 - at("ball")[0]
    head = (at(f"{lead}_ear") + at(f"{trail}_ear"))[0] / 2 - at("ball")[0]
    measures = measure(found.seen)
    true = {
        "shoulder_level_deg": math.degrees(math.atan2(shoulders[2], shoulders[0])),
        "hands_ahead_cm": hands,
        "head_ahead_cm": head,
    }
    for measured, value in true.items():
        told = measures[measured].value
        assert told is not None
        assert abs(told - value) <= 3.0, measured
