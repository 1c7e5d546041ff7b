"""Whether the head is still: by the pose model's points, or by its picture where those jitter (a brim hides ears and nose)."""

from __future__ import annotations

from collections import deque
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import median_of_rows

Array = npt.NDArray[Any]

STILL_S = 0.25  # the head stays within STILL_SHARE of its half-width for this long: still
STILL_SHARE = 0.16
LEAST_PX = 2.5  # that its points may stray in any case
FEW = 4  # frames that tell
REACH = 1.5  # of the picture that is compared, half-widths to each side of where the points first were
PER_HALF_WIDTH = 8  # its pixels: one is STILL_SHARE and a little less
ASTRAY = 0.5  # half-widths: points this far from there are of a head that moved


class Stillness:
    """Of the head that the pose model's points tell."""

    def __init__(self) -> None:
        self._recent: deque[tuple[float, float, float]] = deque()
        self._pictures: deque[tuple[float, Array]] = deque()
        self._at = (0.0, 0.0, 1.0)

    def add(self, time_s: float, x: float, y: float) -> None:
        """Where the points tell that the head is, px."""
        self._recent.append((time_s, x, y))
        while self._recent[0][0] < time_s - STILL_S - 0.1:
            self._recent.popleft()

    def by_points(self, half_px: float) -> bool:
        """Whether the points stay where they are. half_px: the head's half-width."""
        if len(self._recent) < FEW or self._recent[-1][0] - self._recent[0][0] < STILL_S:
            return False
        _, xs, ys = zip(*self._recent, strict=True)
        return bool(max(max(xs) - min(xs), max(ys) - min(ys)) < max(LEAST_PX, STILL_SHARE * half_px))

    def by_picture(self, image: Array, half_px: float) -> bool:
        """Whether the picture around the points stays as it is: it changes less than if the head had moved by STILL_SHARE.

        To be asked every frame, after ``add``.
        """
        time_s, x, y = self._recent[-1]
        ax, ay, half = self._at
        if not self._pictures or max(abs(x - ax), abs(y - ay)) > ASTRAY * half:
            self._pictures.clear()
            self._at = ax, ay, half = x, y, half_px
        r = REACH * half
        left, top, right, bottom = (int(v) for v in (ax - r, ay - r, ax + r, ay + r))
        part = image[max(top, 0) : max(bottom, 0), max(left, 0) : max(right, 0)]
        if min(part.shape[:2]) < 2:
            self._pictures.clear()
            return False
        size = round(2 * REACH * PER_HALF_WIDTH)
        now = cv2.resize(part, (size, size), interpolation=cv2.INTER_AREA).astype(np.float32).mean(axis=2)
        self._pictures.append((time_s, now))
        while self._pictures[0][0] < time_s - STILL_S - 0.1:
            self._pictures.popleft()
        if len(self._pictures) < FEW or time_s - self._pictures[0][0] < STILL_S:
            return False
        changed = np.abs(np.array([p for _, p in self._pictures]) - now).mean(axis=(1, 2)).max()
        moved = min(np.abs(np.diff(now, axis=k)).mean() for k in (0, 1))
        return bool(changed < moved)

    @property
    def place(self) -> tuple[float, float]:
        """(x, y) median of the points of late, px."""
        x, y = median_of_rows(np.array(self._recent)[:, 1:])
        return float(x), float(y)
