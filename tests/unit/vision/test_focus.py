"""Out of focus or not, by balls that are told."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.focus import Focus, is_soft, sharpened

SHARP, BETWEEN, BLURRED = 0.13, 0.175, 0.3


def ball(soft: float, at_rest: bool = True, diameter_px: float = 10.0) -> BallSeenImage:
    return BallSeenImage(320.0, 420.0, diameter_px, 0.9, at_rest, soft)


def test_a_small_ball_in_focus_is_all_edge() -> None:
    assert is_soft(ball(0.25))
    assert not is_soft(ball(0.25, diameter_px=4.0))
    assert not is_soft(None)


@pytest.mark.parametrize(
    ("then", "blurred"),
    [
        ([None] * 30, True),
        ([ball(SHARP, at_rest=False)] * 30, True),
        ([ball(BETWEEN)] * 30, True),
        ([*[ball(SHARP)] * 10, ball(BLURRED), *[ball(SHARP)] * 10], True),
        ([ball(SHARP)] * 30, False),
    ],
)
def test_once_blurred_it_takes_a_sharp_ball_to_be_in_focus(then: list[BallSeenImage | None], blurred: bool) -> None:
    focus = Focus()
    assert not focus.see(ball(SHARP), 0.0)
    assert focus.see(ball(BLURRED), 0.05)
    changes = [focus.see(seen, 0.1 + k / 20) for k, seen in enumerate(then)]
    assert focus.blurred == blurred
    assert sum(changes) == (not blurred)


@pytest.mark.parametrize("blur_px", [1.5, 2.0, 3.5])
def test_a_blurred_shaft_stands_out_again(blur_px: float) -> None:
    clear = np.full((80, 80, 3), 100, np.uint8)
    clear[:, 39:41] = 220
    blurred = cv2.GaussianBlur(clear, (0, 0), blur_px)
    contrast = [float(picture[40, 39:41].mean()) - 100.0 for picture in (blurred, sharpened(blurred))]
    assert contrast[1] > 1.4 * contrast[0]
