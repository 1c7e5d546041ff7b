"""Whether the camera itself moves: the whole ground shifts from frame to frame (phase correlation).

Kuglin and Hines 1975, the phase correlation image alignment method (from memory). A player before a ground that stands still does
not move its peak.
"""

from __future__ import annotations

import math
from collections import deque
from typing import Any

import cv2
import numpy as np

from trainer.domain.observation import Shake
from trainer.texts import tr
from trainer.vision.reduced import reduced_grey

WIDTH = 160  # px, to which pictures are made small
EVERY_S = 0.055  # every second frame of 30 a second, every fourth of 60
SPAN, LEAST_SPAN = 30, 20  # steps that trembling is judged over: more than a stroke lasts
# Pictures are held still sooner and for less, as in a hand that sways: to no harm where that is a mistake.
SOON, SWAYS = 6, 0.00045
QUIET_SHARE = 0.3  # of the steps, the smallest: the player's own motion is not among them
# On rendered clips of 640 px that smallest share is 0.2 px at most; of a camera that trembles by 0.7 px a frame 0.5 to 0.9.
SHAKES, KNOCK = 0.0006, 0.003  # of the picture's width: step of a camera that trembles; one step of one that is knocked
OF_USUAL = 6.0  # a knock is so many of the usual steps at least, where SOON are known: else it is trembling
LEAST_PEAK = 0.12  # of the correlation; less, and the two pictures are hardly alike
# A player before a dark wall is all there is to be seen, and his swing would be the picture's: the sides must go along.
SIDE = 44  # px of WIDTH
LIKER = 0.42  # of the difference when moved the other way, left times right: those of sides that went along, at most
SHAKES_LINE = tr("the camera shakes: put it on something firm")
KNOCK_LINE = tr("the camera was moved: what was under way is not judged")
KNOCKED = tr("the camera was moved")


class ShakeWatch:
    """``see`` every frame in order."""

    def __init__(self) -> None:
        self._before: Any = None
        self._window: Any = None
        self._steps: deque[float] = deque(maxlen=SPAN)
        self._last_s = -math.inf
        self._shake = Shake()

    def see(self, image: Any, time_s: float) -> Shake:
        """image: (h, w, 3) uint8 BGR, always of one size."""
        if time_s - self._last_s >= EVERY_S:
            self._last_s = time_s
            self._shake = self._look(image)
            return self._shake
        last = self._shake
        return Shake(last.line if not last.knocked else "", trembles=last.trembles)

    def _look(self, image: Any) -> Shake:
        grey = reduced_grey(image, WIDTH / image.shape[1]).astype(np.float32)
        rows, width = grey.shape
        before, self._before = self._before, grey
        if before is None or rows < 8:
            return Shake()
        if self._window is None:
            self._window = cv2.createHanningWindow((width, rows), cv2.CV_32F)
        # Copies: it windows its pictures in place.
        (dx, dy), peak = cv2.phaseCorrelate(before.copy(), grey.copy(), self._window)
        step = math.hypot(dx, dy) / WIDTH
        if not math.isfinite(step) or peak < LEAST_PEAK:
            return Shake()
        usual, known = self._usual(), len(self._steps)
        self._steps.append(step)
        if step > max(KNOCK, OF_USUAL * usual) and known >= SOON and self._agree(before, grey, (dx, dy)):
            return Shake(KNOCK_LINE, knocked=True, trembles=self._usual() > SWAYS)
        now = self._usual()
        return Shake(
            SHAKES_LINE if known + 1 >= LEAST_SPAN and now > SHAKES else "", trembles=known + 1 >= SOON and now > SWAYS
        )

    def _usual(self) -> float:
        return sorted(self._steps)[int(QUIET_SHARE * len(self._steps))] if self._steps else 0.0

    @staticmethod
    def _agree(before: Any, grey: Any, step: tuple[float, float]) -> bool:
        """Whether the sides of the picture, where no player stands, go along with the whole: moved by so much they are liker than
        moved as far the other way (as it stands it would be the noisier of two)."""
        this_way, other_way = (_moved(before, step, way) for way in (1.0, -1.0))
        sides = slice(0, SIDE), slice(-SIDE, None)
        off, off_other = (math.prod(_unlike(grey[:, s], w[:, s]) for s in sides) for w in (this_way, other_way))
        return off < LIKER * off_other


def _moved(image: Any, step: tuple[float, float], way: float) -> Any:
    matrix = np.array([[1, 0, way * step[0]], [0, 1, way * step[1]]], np.float32)
    return cv2.warpAffine(image, matrix, image.shape[::-1], borderMode=cv2.BORDER_REPLICATE)


def _unlike(one: Any, other: Any) -> float:
    """Mean difference of two pictures, but for one being brighter as a whole."""
    apart = one - other
    return float(np.abs(apart - np.median(apart)).mean())
