"""Looks for a ball that agree on one place: in a row, or now and again while something else is taken for it in between."""

from __future__ import annotations

import math
from collections import deque

from trainer.vision.ball.circle_fit import CircleFit
from trainer.vision.ball.shown import Shown

IN_A_ROW, NOW_AND_AGAIN = 3, 5  # looks: what moves with the putter is not found so often where it was
TOGETHER_S = 1.0
SAME_PLACE = 0.12  # diameters

Look = tuple[CircleFit, Shown]


class Agreed:
    """Feed every look; get those that are enough to believe in."""

    def __init__(self) -> None:
        self._looks: deque[tuple[float, Look]] = deque()

    def clear(self) -> None:
        """None counts any more."""
        self._looks.clear()

    def add(self, time_s: float, fit: CircleFit, shown: Shown) -> list[Look]:
        """The looks that agree with this one, itself the last, if they are enough; else none."""
        self._looks.append((time_s, (fit, shown)))
        while self._looks[0][0] < time_s - TOGETHER_S:
            self._looks.popleft()
        near = [math.dist((f.x, f.y), (fit.x, fit.y)) <= SAME_PLACE * fit.diameter_px for _, (f, _) in self._looks]
        row = len(near) >= IN_A_ROW and all(near[-IN_A_ROW:])
        alike = [look for (_, look), same in zip(self._looks, near, strict=True) if same]
        return alike[-IN_A_ROW:] if row else alike if len(alike) >= NOW_AND_AGAIN else []
