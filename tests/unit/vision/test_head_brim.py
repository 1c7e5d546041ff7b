"""A wide brim is told from a head, a cap and a coat's shoulders."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.unit.vision.test_head import CENTRE, HALF, head_picture, points_for
from trainer.vision.head.brim import find_rim
from trainer.vision.head.tracker import HeadTracker


def hat_picture(wide: float, tall: float, *, parted: bool = False, noise: float = 3.0, seed: int = 0) -> np.ndarray:
    """A hat seen from the front: brim ``wide`` and ``tall`` (of half-widths), a crown on it. parted: its sides differ."""
    image = head_picture(0.0, seed=1).astype(np.uint8)
    image[:] = 90
    cv2.rectangle(image, (90, 150), (230, 240), (120, 60, 30), -1)
    at = (int(CENTRE[0]), int(CENTRE[1]))
    cv2.ellipse(image, at, (int(wide * HALF), int(tall * HALF)), 0, 0, 360, (170, 200, 215), -1, cv2.LINE_AA)
    if parted:
        for k in range(-3, 4, 2):
            x = at[0] + int(k * wide * HALF / 4)
            cv2.rectangle(image, (x - 4, at[1] - 60), (x + 4, at[1] + 60), (40, 40, 60), -1)
    cv2.ellipse(image, (at[0], at[1] - 8), (int(HALF), int(0.9 * HALF)), 0, 0, 360, (150, 180, 200), -1, cv2.LINE_AA)
    grain = np.random.default_rng(seed).normal(0, noise, image.shape)
    return np.clip(image + grain, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("rim", [(1.8, 1.1), (2.0, 1.9), (2.2, 1.4)])
def test_a_wide_brim_is_seen(rim: tuple[float, float]) -> None:
    assert find_rim(hat_picture(*rim), CENTRE[0], CENTRE[1] + 4, HALF)


@pytest.mark.parametrize("rim", [(1.0, 1.3), (1.25, 1.0)])
def test_a_head_or_a_narrow_rim_is_none(rim: tuple[float, float]) -> None:
    assert find_rim(hat_picture(*rim), CENTRE[0], CENTRE[1], HALF) is None


def test_what_changes_along_its_rim_is_none() -> None:
    assert find_rim(hat_picture(2.0, 1.4, parted=True), *CENTRE, HALF) is None


def test_a_bare_head_is_none_anywhere_in_the_picture() -> None:
    image = head_picture(0.0, seed=3)
    for x, y in (CENTRE, (5.0, 5.0), (315.0, 235.0)):
        assert find_rim(image, x, y, HALF) is None


def test_under_a_brim_the_head_is_followed_by_the_rim_less_surely_and_it_is_said_why() -> None:
    tracker, reading = HeadTracker(), None
    for k in range(20):
        reading = tracker.update(hat_picture(2.0, 1.4, seed=k), k / 30, points_for(CENTRE[0], CENTRE[1] + 4))
    assert reading is not None
    assert abs(reading.turn_deg) < 2
    assert 0.35 < reading.confidence < 0.8
    assert tracker.hard == "brim"
