"""Bright spots of about a ball's size: each by itself, and the roundest part of what runs together with something else."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from trainer.vision.ball.circle_fit import whiteness

TWO_THINGS = 1.3  # times as wide as high: the ball and a putter head that shines
MIN_PEAK = 40.0  # grey levels of the brightest spot over its surroundings
# Of the brightest spot: what shines in the sun, a shoe or a putter, may be several times as bright as a ball in its shadow, and
# higher up the ball stands apart from it.
LEVELS = (0.45, 0.65, 0.85, 0.3, 0.2)
LEAST_LEVEL = 0.45 * MIN_PEAK
ALIKE = 0.15  # of a small ball: two spots this near to each other and this alike in size are one
INNER_CIRCLES = 2  # looked at of a spot that is no ball as a whole


@dataclass(frozen=True, slots=True)
class Spot:
    """Centre of a bright spot, its upper and left edges, width and height in patch px; area (px^2).

    inner: it is the largest circle inside of something larger.
    """

    x: float
    y: float
    top: float
    left: float
    wide: float
    high: float
    area: float
    inner: bool = False

    def beside(self, x: float) -> float | None:
        """Of what may be two things side by side, the middle (x) of the one farther from x; None of one thing."""
        if self.wide < TWO_THINGS * self.high:
            return None
        ends = self.left + self.high / 2, self.left + self.wide - self.high / 2
        return max(ends, key=lambda end: abs(end - x))


def bright_spots(patch: Any, small: float, large: float) -> list[Spot]:
    """Spots brighter than what is around them. small, large: diameters a ball may have (px)."""
    white = whiteness(patch)
    size = int(1.25 * large) | 1
    lifted = cv2.morphologyEx(white, cv2.MORPH_TOPHAT, cv2.getStructuringElement(cv2.MORPH_RECT, (size, size)))
    peak = float(np.partition(lifted, -12, axis=None)[-12]) if lifted.size > 12 else 0.0
    if peak < MIN_PEAK:
        return []
    found: list[Spot] = []
    for level in LEVELS:
        if level * peak < LEAST_LEVEL:
            continue
        _, mask = cv2.threshold(lifted, level * peak, 255, cv2.THRESH_BINARY)
        for spot in _spots_of(mask, small, large):
            if not any(_alike(spot, other, ALIKE * small) for other in found):
                found.append(spot)
    return found


def _spots_of(mask: Any, small: float, large: float) -> list[Spot]:
    count, labels, stats, centres = cv2.connectedComponentsWithStats(mask, connectivity=4)
    spots = []
    for i in range(1, count):
        left, top, w, h, area = (int(v) for v in stats[i])
        if area <= 0.3 * small**2 or min(w, h) <= 0.4 * small:
            continue
        if area < 1.3 * large**2 and max(w, h) < 1.6 * large:
            x, y = (float(v) + 0.5 for v in centres[i])
            spots.append(Spot(x, y, float(top), float(left), float(w), float(h), float(area)))
        if max(w, h) > TWO_THINGS * min(w, h) or area < 0.6 * w * h or max(w, h) > large:
            spots += _inner_circles(labels[top : top + h, left : left + w] == i, left, top, (small, large))
    return spots


def _inner_circles(inside: Any, left: int, top: int, sizes: tuple[float, float]) -> list[Spot]:
    """The largest circles inside of a spot that is no ball as a whole: the ball is rounder than a shaft or a putter's edge."""
    framed = cv2.copyMakeBorder(inside.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT)
    far = cv2.distanceTransform(framed, cv2.DIST_L2, 5)
    out = []
    for _ in range(INNER_CIRCLES):
        _, radius, _, at = cv2.minMaxLoc(far)
        if not sizes[0] <= 2 * radius <= sizes[1]:
            break
        x, y = left + at[0] - 0.5, top + at[1] - 0.5
        out.append(Spot(x, y, y - radius, x - radius, 2 * radius, 2 * radius, math.pi * radius**2, True))
        cv2.circle(far, at, math.ceil(1.5 * radius), 0.0, -1)
    return out


def _alike(a: Spot, b: Spot, by: float) -> bool:
    return max(abs(a.x - b.x), abs(a.y - b.y), abs(a.wide - b.wide), abs(a.high - b.high)) < 2 * by
