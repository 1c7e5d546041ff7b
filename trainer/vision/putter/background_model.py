"""What the picture looks like without the putter: kept up to date wherever the putter is not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

RATE = 0.5  # how fast the model follows a picture that moves slowly (legs, light)


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


class BackgroundModel:
    """The picture inside ``box`` without the putter, as float32 BGR (box-shaped, origin at the box's corner).

    Pixels never yet seen clear of the putter (``seen`` is 0) hold a median over a neighbourhood wider than the shaft
    instead.
    """

    def __init__(self, image: Any, box: Box, line_px: float, ground_y: float | None = None) -> None:
        """line_px: widest thin thing (shaft, tape) that the median must take away.

        ground_y: below this line of the picture a putter head seen broadside must be taken away as well.
        """
        self.box = box
        self._kernel = max(5, int(2.4 * line_px) | 1)
        part = np.ascontiguousarray(box.of(image))
        filled = cv2.medianBlur(part, self._kernel)
        self._calm: tuple[Any, Any] | None = (image, filled.copy())  # the newest picture and its median
        if ground_y is not None:
            row = max(0, int(ground_y - box.y0))
            if row < part.shape[0]:
                filled[row:] = cv2.medianBlur(part[row:], 2 * self._kernel + 1)
        self.picture = filled.astype(np.float32)
        self.seen: Any = np.zeros(part.shape[:2], np.uint8)

    def update(self, image: Any, covered: Any) -> None:
        """covered: (h, w) uint8 of the box, nonzero where the putter, hands or ball are now."""
        self._calm = None
        part = self.box.of(image)
        clear = cv2.inRange(covered, 0, 0)
        first = cv2.bitwise_and(clear, cv2.bitwise_not(self.seen))
        if cv2.countNonZero(first):
            x, y, w, h = cv2.boundingRect(first)
            new = slice(y, y + h), slice(x, x + w)
            self.picture[new] = cv2.copyTo(part[new].astype(np.float32), first[new], self.picture[new])
            self.seen = cv2.bitwise_or(self.seen, first)
        cv2.accumulateWeighted(part, self.picture, RATE, mask=clear)

    def clear_disc(self, x: float, y: float, radius_px: float) -> None:
        """Something round that lay here is gone: take the ground around it instead. x, y in the whole picture."""
        cx, cy, reach = x - self.box.x0, y - self.box.y0, 1.5 * radius_px + 1
        x0, x1 = max(0, int(cx - reach)), min(self.picture.shape[1], int(cx + reach) + 1)
        y0, y1 = max(0, int(cy - reach)), min(self.picture.shape[0], int(cy + reach) + 1)
        if x1 - x0 < 3 or y1 - y0 < 3:
            return
        part = self.picture[y0:y1, x0:x1]
        yy, xx = np.mgrid[y0:y1, x0:x1]
        distance = np.hypot(xx + 0.5 - cx, yy + 0.5 - cy)
        ring = (distance > radius_px) & (distance < reach)
        if ring.any():
            part[distance <= radius_px] = np.median(part[ring], axis=0)

    def thin_things(self, image: Any) -> Any:
        """(h, w) uint8: how much each pixel of the box differs from its neighbourhood's median, in grey levels."""
        part = np.ascontiguousarray(self.box.of(image))
        known = self._calm
        calm = known[1] if known is not None and known[0] is image else cv2.medianBlur(part, self._kernel)
        difference = cv2.absdiff(part, calm)
        return cv2.transform(difference, np.full((1, 3), 0.5, np.float32))
