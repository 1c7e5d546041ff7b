"""The pipeline is put together for this student: what the settings say reaches the part that goes by it."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import pytest

from tests.support.practice_stage import PICTURE, Watches, stroke
from trainer.app import build
from trainer.domain.observation import Frame
from trainer.settings.load import from_options, load
from trainer.settings.model import Settings


def settings_of(**values: Any) -> Settings:
    return load([from_options(**values)])


class Models:
    """In place of the pose models: keeps the pictures that they are shown, and sees nobody."""

    def __init__(self) -> None:
        self.detector, self.shown = self, list[Any]()

    def find(self, picture: Any) -> None:
        self.shown.append(picture)


class Body:
    """In place of the pose model."""

    def find(self, image_bgr: Any) -> None:
        """Nobody."""

    def close(self) -> None:
        """There is no model."""


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_pose_models_are_shown_a_left_handers_picture_mirrored(hand: str) -> None:
    models, picture = Models(), np.arange(48 * 64 * 3, dtype=np.uint8).reshape(48, 64, 3)
    build.pose_body(settings_of(player__handedness=hand), models).find(picture)  # type: ignore[arg-type]
    assert np.array_equal(models.shown[0], cv2.flip(picture, 1) if hand == "left" else picture)


@pytest.mark.parametrize(("seated", "height_cm"), [(False, 181.0), (True, None)])
def test_the_standing_height_of_who_sits_tells_no_scale(seated: bool, height_cm: float | None) -> None:
    settings = settings_of(player__height_cm=181.0, player__seated=seated)
    assert build.observer(settings, body=Body()).options.height_cm == height_cm


def test_the_look_is_found_by_the_students_own_limit() -> None:
    looks = []
    for limit_deg in (12.0, 30.0):
        seen = stroke(1.3)
        pipeline = build.pipeline(settings_of(limits__early_look__limit_deg=limit_deg), Watches(seen))
        steps = [pipeline.step(Frame(s.index, s.time_s, PICTURE), None) for s in seen]
        (found,) = [step.finished for step in steps if step.finished is not None]
        assert found.record.events.look_s is not None
        looks.append(found.record.events.look_s)
    assert looks[1] > looks[0] + 0.05  # a head takes a while to turn on by so much


def test_how_a_stroke_felt_is_asked_before_any_sound_answers() -> None:
    for asked in (False, True):
        level = build.plan(settings_of(feedback__feel=asked)).feedback_level(1)
        assert (level.tone, level.praise) == (not asked, not asked)
