"""Pictures made small: of the size asked for, and no worse to look at than averaged ones."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from trainer.vision.reduced import fitted, reduced_grey


def soft_picture(width: int = 1280, height: int = 720) -> np.ndarray:
    """Smooth in places, with edges as sharp as a lens gives them."""
    rng = np.random.default_rng(4)
    coarse = rng.integers(0, 256, (height // 40, width // 40, 3), np.uint8)
    return cv2.GaussianBlur(cv2.resize(coarse, (width, height), interpolation=cv2.INTER_NEAREST), (0, 0), 1.5)


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (741, 417), (640, 360), (320, 180), (101, 57), (1, 1)])
def test_a_picture_to_be_looked_at_has_the_size_asked_for_and_looks_as_if_averaged(size: tuple[int, int]) -> None:
    picture = soft_picture()
    found = fitted(picture, size)
    assert found.shape == (size[1], size[0], 3)
    averaged = cv2.resize(picture, size, interpolation=cv2.INTER_AREA if size[0] < 1280 else cv2.INTER_LINEAR)
    assert np.abs(found.astype(int) - averaged).mean() < 5


def test_grey_is_the_share_asked_for() -> None:
    grey = reduced_grey(soft_picture(), 0.3)
    assert grey.shape == (216, 384)
    averaged = cv2.resize(cv2.cvtColor(soft_picture(), cv2.COLOR_BGR2GRAY), (384, 216), interpolation=cv2.INTER_AREA)
    assert np.abs(grey.astype(int) - averaged).mean() < 5
