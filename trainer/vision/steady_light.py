"""A jump of exposure or white balance is not motion: pictures are brought back to the light of a reference.

The gain of each colour is the median of its ratios to the reference over a grid, so that what moves counts for little. What has
run into full white stays white. Pictures within STEADY of the reference are handed on as they are.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import median

STRIDE = 20  # px, of the grid
USED = (12, 242)  # grey levels that follow the light
LEAST_SAMPLES = 60
STEADY = 0.05  # gains nearer to 1 are let be
MOST = 2.5  # greater gains, or under 1 / MOST, are another scene
ADAPT = 0.03  # share of a steady picture that goes into the reference
WHITE = 250
KEPT_S = 4.0  # so long in another light: it is the light now

Gains = npt.NDArray[np.float32]


class SteadyLight:
    """``steadied`` every frame in order."""

    def __init__(self) -> None:
        self._reference: Any = None
        self._other_since: float | None = None

    def steadied(self, image: Any, time_s: float) -> Any:
        """The picture as the reference's light would show it. image: (h, w, 3) uint8 BGR."""
        grid = image[::STRIDE, ::STRIDE].astype(np.float32)
        gains = self._gains(grid)
        if gains is None:
            self._reference, self._other_since = grid, None
            return image
        if np.abs(gains - 1.0).max() < STEADY:
            self._reference += ADAPT * (grid - self._reference)
            self._other_since = None
            return image
        if self._other_since is None:
            self._other_since = time_s
        elif time_s - self._other_since > KEPT_S:
            self._reference, self._other_since = grid, None
            return image
        return cv2.LUT(image, _back(gains))

    def _gains(self, grid: Any) -> Gains | None:
        """Of each colour against the reference; None without one, or when this is another scene."""
        before = self._reference
        if before is None or before.shape != grid.shape:
            return None
        low, high = USED
        gains = []
        used = (before > low) & (before < high) & (grid > low) & (grid < high)
        for colour in range(3):
            then, now, use = before[..., colour], grid[..., colour], used[..., colour]
            if np.count_nonzero(use) < LEAST_SAMPLES:
                return None
            gains.append(median(now[use] / then[use]))
        found = np.array(gains, np.float32)
        return found if found.min() > 1 / MOST and found.max() < MOST else None


def _back(gains: Gains) -> Any:
    """The table that takes the gains out again, (1, 256, 3)."""
    levels = np.arange(256, dtype=np.float32)[:, None] / gains[None, :]
    levels[WHITE:] = 255.0
    return np.clip(np.round(levels), 0, 255).astype(np.uint8)[None]
