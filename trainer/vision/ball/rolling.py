"""The ball while it rolls away: a bright smear that differs from the picture before it left."""

from __future__ import annotations

import math
from typing import Any

import cv2
import numpy as np

from trainer.vision.ball.circle_fit import whiteness

XY = tuple[float, float]

MISSED_FRAMES = 2
SLOW_FRAMES = 3
MASS_SHARE = (0.4, 1.8)  # of the ball's summed brightness over the ground, which smearing keeps


class RollingBall:
    """Follows the ball from its rest place by difference to ``before``, the picture with the ball at rest.

    place: middle of the smear (px); over: True once it is out of the picture or lost.
    """

    def __init__(self, before: Any, place: XY, diameter_px: float, contrast: float) -> None:
        self.before = before
        self.origin = self.place = place
        self.over = before is None
        self.confidence = 0.0
        self._diameter = diameter_px
        self._mass = 0.75 * contrast * math.pi * diameter_px**2 / 4
        self._contrast = contrast
        self._velocity: XY = (0.0, 0.0)
        self._time_s: float | None = None
        self._missed = self._slow = 0

    def start(self, image: Any, time_s: float) -> bool:
        """True when the ball is seen clear of its place in this frame."""
        if self.over:
            return False
        # A putt leaves along the ground: look far to both sides, little up and down.
        found = self._find(image, self.origin, 9.0 * self._diameter, 1.6 * self._diameter)
        if found is None:
            return False
        self.place, self.confidence = found
        self._time_s = time_s
        self._velocity = (0.0, 0.0)
        return True

    def follow(self, image: Any, time_s: float) -> bool:
        """Find it again near where it should be by now; False when not found in this frame."""
        if self.over or self._time_s is None:
            return False
        dt = max(time_s - self._time_s, 1e-3)
        known = self._velocity != (0.0, 0.0)
        at = (self.place[0] + self._velocity[0] * dt, self.place[1] + self._velocity[1] * dt)
        wide = (2.0 if known else 9.0) * self._diameter + 0.5 * abs(self._velocity[0]) * dt
        found = self._find(image, at, wide, 1.6 * self._diameter)
        inside = self._diameter < at[0] < image.shape[1] - self._diameter
        if found is None:
            self._missed += 1
            self.over = self._missed > MISSED_FRAMES or not inside
            return False
        (x, y), self.confidence = found
        velocity = ((x - self.place[0]) / dt, (y - self.place[1]) / dt)
        change = math.dist(velocity, self._velocity) * dt
        if known and change > 0.5 * math.hypot(*self._velocity) * dt + 0.3 * self._diameter:
            # A ball loses its speed slowly; what stands still of a sudden is something else.
            self._missed += 1
            self.over = self._missed > MISSED_FRAMES or not inside
            return False
        # A ball at rest again is left to a new search; mostly it is the putter, standing where the ball was followed
        # to.
        self._slow = self._slow + 1 if math.hypot(*velocity) * dt < 0.15 * self._diameter else 0
        if self._slow > SLOW_FRAMES:
            self.over = True
            return False
        self._velocity = velocity
        self.place, self._time_s, self._missed = (x, y), time_s, 0
        return True

    def _find(self, image: Any, at: XY, wide: float, high: float) -> tuple[XY, float] | None:
        height, width = image.shape[:2]
        x0, x1 = max(0, int(at[0] - wide)), min(width, int(at[0] + wide) + 1)
        y0, y1 = max(0, int(at[1] - high)), min(height, int(at[1] + high) + 1)
        if x1 - x0 < 4 or y1 - y0 < 4:
            return None
        brighter = cv2.subtract(whiteness(image[y0:y1, x0:x1]), whiteness(self.before[y0:y1, x0:x1]))
        _, mask = cv2.threshold(brighter, max(18.0, 0.16 * self._contrast), 255, cv2.THRESH_BINARY)
        # The renderings of a short shutter, and a flickering lamp, cut the smear in pieces: join them along the roll.
        mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((1, max(3, int(0.8 * self._diameter) | 1)), np.uint8))
        count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
        best: tuple[float, XY] | None = None
        for i in range(1, count):
            x, y, w, h = (int(stats[i, k]) for k in range(4))
            if not 0.3 * self._diameter < h < 1.6 * self._diameter:
                continue
            part = np.where(labels[y : y + h, x : x + w] == i, brighter[y : y + h, x : x + w], 0).astype(np.float64)
            mass = float(part.sum())
            if not MASS_SHARE[0] * self._mass < mass < MASS_SHARE[1] * self._mass:
                continue
            columns, rows = part.sum(axis=0), part.sum(axis=1)
            place = (
                x0 + x + 0.5 + float(columns @ np.arange(w)) / mass,
                y0 + y + 0.5 + float(rows @ np.arange(h)) / mass,
            )
            if math.dist(place, self.origin) < 0.6 * self._diameter:
                continue
            likeness = 1.0 - min(1.0, abs(math.log(mass / self._mass)))
            if best is None or likeness > best[0]:
                best = (likeness, place)
        return None if best is None else (best[1], 0.5 + 0.4 * best[0])
