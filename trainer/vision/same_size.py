"""A camera or link that goes over to pictures of another size: where they show the same view they are made as large as before."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import cv2
import numpy as np

from trainer.domain.observation import Frame
from trainer.texts import tr

SHAPES_APART = 0.01  # share by which width over height may differ
SEEN_IN = (40, 30)  # px, in which two pictures are compared
# Correlation: 0.997 and more on rendered clips, 0.991 and less where a fiftieth is cut off on each side.
SAME_VIEW = 0.994
SIZE_LINE = tr("the picture changes its size on the way: set the camera to one size")


class SameSize:
    """``sized`` every frame in order; changed: the last one came in another size than the first."""

    def __init__(self) -> None:
        self.changed = False
        self._first: tuple[int, int] | None = None  # width, height
        self._taken: tuple[int, int] | None = None  # another size that shows the same
        self._last: Any = None

    def sized(self, frame: Frame) -> Frame:
        """The frame with its picture as large as the first one, or as it is where that is another view."""
        size = frame.image.shape[1], frame.image.shape[0]
        if self._first is not None and size != self._first:
            if size == self._taken or _same_view(self._last, frame.image):
                self._taken, self.changed = size, True
                how = cv2.INTER_AREA if size[0] > self._first[0] else cv2.INTER_CUBIC
                frame = replace(frame, image=cv2.resize(frame.image, self._first, interpolation=how))
                self._last = frame.image
                return frame
            self._taken = None
        self._first, self._last, self.changed = size, frame.image, False
        return frame


def _same_view(before: Any, now: Any) -> bool:
    height, width = before.shape[:2]
    if before.ndim != now.ndim or abs(now.shape[1] * height / (now.shape[0] * width) - 1.0) > SHAPES_APART:
        return False
    a, b = (
        cv2.resize(image, SEEN_IN, interpolation=cv2.INTER_AREA).astype(np.float64).ravel() for image in (before, now)
    )
    a, b = a - a.mean(), b - b.mean()
    return bool(a @ b > SAME_VIEW * np.sqrt((a @ a) * (b @ b)))
