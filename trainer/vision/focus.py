"""A picture out of focus, by the edge of the ball: what is said of it, and the picture sharpened for what is thin."""

from __future__ import annotations

import math
from typing import Any

import cv2
import numpy as np

from trainer.texts import tr
from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.putter.background_model import Box

# Width of the ball's edge, of its diameter: on rendered clips 0.12 to 0.14 in focus; blurred to 0.19 the ball reads 2 % too
# large, from 0.2 on 5 to 40 %.
SOFT, SOFT_PX = 0.19, 1.3  # and wider (px) than any edge in focus: a ball of 5 px is 0.2 edge
# By how much it reads too large, by the width of its edge: means of 15 rendered clips blurred by 0.7 to 2 px, SD 0.008 to 0.02.
EDGES = (0.145, 0.165, 0.18, 0.2, 0.22, 0.24)
TOO_LARGE = (0.0, 0.01, 0.022, 0.043, 0.08, 0.12)
SHARP_SHARE = 0.85  # of these, below which it is in focus again
SHARP_S = 1.0  # for so long
SOFT_S = 0.5  # of a blurred ball before anybody is told: a spot taken for a ball is left sooner
SOFT_LINE = tr("the ball is blurred: bring the camera into focus")
# A shaft of two px, blurred by 2 to 3.5 px, is seen in all pictures of a stroke in place of 9 of 10, or of half of them.
SHARPEN_PX, SHARPEN = 2.0, 3.0
BLUR_REACH_PX = 8  # from which a pixel of the blurred picture comes; OpenCV takes 6 of that width


def is_soft(ball: BallSeenImage | None, share: float = 1.0) -> bool:
    """Whether the ball's edge is wider than in focus, or than a share of that."""
    return ball is not None and ball.soft > share * SOFT and ball.soft * ball.diameter_px > share * SOFT_PX


class Focus:
    """``see`` the ball of every frame in order: whether pictures are better ``sharpened`` from now on.

    half_hidden: down the line the putter hides half of the ball, and MJPEG makes what is left of its edge as wide as a lens out
    of focus does: pictures are let be. Their sharpened blocks lost a stroke in MJPEG of quality 60 and one in H.264 of
    200 kbit/s, and found one in MJPEG of quality 12; out of focus no more were found.
    """

    def __init__(self, half_hidden: bool = False) -> None:
        self._half_hidden = half_hidden
        self.blurred = False
        self._sharp_since = self._soft_since = math.nan
        self._edge = 0.0
        self.line = ""  # what is told of it

    def in_focus_px(self, diameter_px: float | None) -> float | None:
        """The ball's diameter as it would be in focus. That of a small one, whose edge is wide in focus too, is let be."""
        if diameter_px is None or self._edge * diameter_px < SOFT_PX:
            return diameter_px
        return diameter_px / (1.0 + float(np.interp(self._edge, EDGES, TOO_LARGE)))

    def see(self, ball: BallSeenImage | None, time_s: float) -> bool:
        """Whether that has changed. A ball that rolls or is not seen says nothing."""
        if ball is None or not ball.at_rest:
            self.line, self._soft_since = "", math.nan
            return False
        self._edge = ball.soft
        self._soft_since = (time_s if math.isnan(self._soft_since) else self._soft_since) if is_soft(ball) else math.nan
        self.line = SOFT_LINE if time_s - self._soft_since >= SOFT_S else ""
        if self._half_hidden:
            return False
        before = self.blurred
        if not self.blurred:
            self.blurred = is_soft(ball)
            self._sharp_since = math.nan
        elif is_soft(ball, SHARP_SHARE):
            self._sharp_since = math.nan
        elif math.isnan(self._sharp_since):
            self._sharp_since = time_s
        else:
            self.blurred = time_s - self._sharp_since < SHARP_S
        return self.blurred != before


def sharpened(image: Any, box: Box | None = None) -> Any:
    """The picture with its fine parts made strong again, or only the box of it. image: (h, w, 3) uint8."""
    if box is None:
        return cv2.addWeighted(image, 1.0 + SHARPEN, cv2.GaussianBlur(image, (0, 0), SHARPEN_PX), -SHARPEN, 0.0)
    left, top = max(0, box.x0 - BLUR_REACH_PX), max(0, box.y0 - BLUR_REACH_PX)
    around = sharpened(image[top : box.y1 + BLUR_REACH_PX, left : box.x1 + BLUR_REACH_PX])
    clear = image.copy()
    box.of(clear)[:] = around[box.y0 - top :, box.x0 - left :][: box.y1 - box.y0, : box.x1 - box.x0]
    return clear
