"""Turn by the rim of a wide brim, on hats drawn with a known turn."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from trainer.vision.head.brim import find_rim
from trainer.vision.head.rim import Rim, RimFollower, RimOptions

LONGER, WIDE, AT = RimOptions().longer, 36.0, np.array([160.0, 110.0])
ROUND = np.radians(np.arange(0, 360, 3))


def rim_points(turn_deg: float, tilt: float, longer: float = LONGER) -> np.ndarray:
    """The front, which is below, swings to the right as the head turns to the right."""
    t = -np.radians(turn_deg)
    across, along = WIDE * np.cos(ROUND), WIDE * longer * np.sin(ROUND)
    x, y = across * np.cos(t) - along * np.sin(t), across * np.sin(t) + along * np.cos(t)
    return AT + np.stack([x, tilt * y], axis=1)


def hat(
    turn_deg: float, tilt: float = 0.7, *, longer: float = LONGER, shift: tuple[float, float] = (0, 0), seed: int = 0
) -> np.ndarray:
    image = np.full((240, 320, 3), 90, np.uint8)
    cv2.rectangle(image, (100, 140), (220, 239), (120, 60, 30), -1)
    points = np.round((rim_points(turn_deg, tilt, longer) + shift) * 16).astype(np.int32)
    cv2.fillPoly(image, [points], (170, 200, 215), cv2.LINE_AA, 4)
    noise = np.random.default_rng(seed).normal(0, 4, image.shape)
    return np.clip(cv2.GaussianBlur(image, (0, 0), 0.8) + noise, 0, 255).astype(np.uint8)


def follow(
    turns: np.ndarray, tilt: float, mirrored: bool = False, longer: float = LONGER
) -> tuple[np.ndarray, np.ndarray]:
    """(found, error expected) of each turn."""
    flip = slice(None, None, -1 if mirrored else 1)
    first = np.ascontiguousarray(hat(0.0, tilt, longer=longer)[:, flip])
    x = 319 - AT[0] if mirrored else AT[0]
    rim = find_rim(first, x, AT[1] + 4, 19.0)
    assert rim is not None
    follower, found = RimFollower(RimOptions(), first, rim, mirrored=mirrored), []
    for k, t in enumerate(turns):
        image = hat(float(t), tilt, longer=longer, shift=(0.1 * k, -0.05 * k), seed=k)
        found.append(follower.follow(np.ascontiguousarray(image[:, flip])))
    assert all(found)
    return np.array([t.turn_deg for t in found if t]), np.array([t.error_deg for t in found if t])


@pytest.mark.parametrize("tilt", [0.55, 0.7, 0.9])
@pytest.mark.parametrize("to", [40.0, -35.0])
def test_a_known_turn_is_found(tilt: float, to: float) -> None:
    turns = np.concatenate([np.zeros(10), np.linspace(0, to, 12), np.full(4, to), np.linspace(to, 0, 10), np.zeros(4)])
    found, error = follow(turns, tilt)
    assert np.abs(found - turns)[:10].max() < 2
    assert np.abs(found - turns).max() < 5
    assert error.argmax() == np.abs(found).argmax()
    assert error.min() > 3.5


def test_to_the_target_has_one_sign_on_either_side() -> None:
    turns = np.concatenate([np.zeros(8), np.linspace(0, 30, 10)])
    plain, _ = follow(turns, 0.7)
    other, _ = follow(-turns, 0.7)
    over, _ = follow(turns, 0.7, mirrored=True)
    assert plain[-1] == pytest.approx(30, abs=4)
    assert other[-1] == pytest.approx(-30, abs=4)
    assert over[-1] == pytest.approx(30, abs=4)


def test_a_brim_that_is_less_long_reads_short_within_what_is_expected() -> None:
    turns = np.concatenate([np.zeros(8), np.linspace(0, 30, 12), np.full(3, 30.0)])
    found, error = follow(turns, 0.7, longer=LONGER - 0.05)
    assert 15 < found[-1] < 30
    assert abs(found[-1] - 30) < 1.3 * error[-1]


def test_a_rim_that_is_gone_tells_nothing() -> None:
    first = hat(0.0)
    follower = RimFollower(RimOptions(), first, Rim(AT, np.diag([WIDE, WIDE * LONGER * 0.7])), mirrored=False)
    assert follower.follow(hat(0.0, seed=1)) is not None
    assert follower.follow(np.full_like(first, 90)) is None
