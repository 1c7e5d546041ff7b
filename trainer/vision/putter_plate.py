"""What the picture looks like without the putter: kept up to date wherever the putter is not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

RATE = 0.25  # how fast the plate follows a picture that moves slowly (legs, light)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of whole pixels, x0 <= x < x1."""

    x0: int
    y0: int
    x1: int
    y1: int

    def of(self, image: Any) -> Any:
        return image[self.y0 : self.y1, self.x0 : self.x1]

    def holds(self, x: float, y: float, margin: float = 0.0) -> bool:
        return self.x0 + margin <= x <= self.x1 - margin and self.y0 + margin <= y <= self.y1 - margin


class CleanPlate:
    """The picture inside ``box`` without the putter, as float32 BGR (box-shaped, origin at the box's corner).

    Pixels never yet seen clear of the putter hold a median over a neighbourhood wider than the shaft instead.
    """

    def __init__(self, image: Any, box: Box, line_px: float) -> None:
        """line_px: widest thin thing (shaft, tape) that the median must take away."""
        self.box = box
        self._kernel = max(5, int(2.4 * line_px) | 1)
        part = box.of(image)
        self.picture = cv2.medianBlur(np.ascontiguousarray(part), self._kernel).astype(np.float32)
        self._seen = np.zeros(part.shape[:2], np.uint8)

    def update(self, image: Any, covered: Any) -> None:
        """covered: (h, w) uint8 of the box, nonzero where the putter, hands or ball are now."""
        part = self.box.of(image)
        clear = cv2.compare(covered, 0, cv2.CMP_EQ)
        first = cv2.bitwise_and(clear, cv2.bitwise_not(self._seen))
        if cv2.countNonZero(first):
            cv2.copyTo(part.astype(np.float32), first, self.picture)
            self._seen = cv2.bitwise_or(self._seen, first)
        cv2.accumulateWeighted(part, self.picture, RATE, mask=clear)

    def refill(self, image: Any) -> None:
        """Take the median of this picture where nothing has been seen clear yet (the background moved or the light did)."""
        part = np.ascontiguousarray(self.box.of(image))
        unseen = cv2.bitwise_not(self._seen)
        cv2.copyTo(cv2.medianBlur(part, self._kernel).astype(np.float32), unseen, self.picture)

    def thin_things(self, image: Any) -> Any:
        """(h, w) uint8: how much each pixel of the box differs from its neighbourhood's median (grey levels, all channels)."""
        part = np.ascontiguousarray(self.box.of(image))
        difference = cv2.absdiff(part, cv2.medianBlur(part, self._kernel))
        return cv2.transform(difference, np.full((1, 3), 0.5, np.float32))
