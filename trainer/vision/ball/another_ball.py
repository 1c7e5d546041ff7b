"""Several balls lie about: the putter is put to another than the one that was taken for the ball."""

from __future__ import annotations

import math
from typing import Callable

from trainer.vision.ball.circle_fit import CircleFit
from trainer.vision.ball.shown import Shown

XY = tuple[float, float]
Fits = list[tuple[CircleFit, Shown]]

EVERY_S = 0.3
# In diameters: the ball that is known lies farther from the putter's head, another no farther; and what a head that stands still
# moves by.
ELSEWHERE, BESIDE, STILL = 3.0, 1.8, 0.3
LEAST_QUALITY = 0.7


class AnotherBall:
    """``look`` while a ball is known to lie at rest; ``clear`` where no putter's head is seen."""

    def __init__(self, looks: int) -> None:
        """looks: that must find it, one after the other."""
        self._looks = looks
        self._next_s = -math.inf
        self.clear()

    def clear(self) -> None:
        self._head: XY | None = None
        self._fits: Fits = []

    def look(
        self, time_s: float, head: XY, known: XY, diameter_px: float, best: Callable[[], tuple[CircleFit | None, Shown]]
    ) -> Fits | None:
        """Another ball, as the last looks saw it, once it is sure. head, known: px; best: the likeliest ball by the putter."""
        if time_s < self._next_s:
            return None
        self._next_s = time_s + EVERY_S
        before, self._head = self._head, head
        still = before is not None and math.dist(head, before) < STILL * diameter_px
        fit, shown = best() if still and math.dist(head, known) > ELSEWHERE * diameter_px else (None, "plain")
        if fit is None or fit.quality < LEAST_QUALITY or math.dist((fit.x, fit.y), head) > BESIDE * diameter_px:
            self._fits = []
            return None
        self._fits.append((fit, shown))
        if len(self._fits) < self._looks:
            return None
        found, self._fits = self._fits, []
        return found
