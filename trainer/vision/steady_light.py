"""A jump of exposure or white balance is not motion: pictures are brought back to the light of a reference.

The gain of each colour is the median of its ratios to the reference over a grid, so that what moves counts for little. What has
run into full white stays white. Pictures within STEADY of the reference are handed on as they are.
"""

from __future__ import annotations

from collections import deque
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import median

STRIDE = 20  # px, of the grid
USED = (12, 242)  # grey levels that follow the light
LEAST_SAMPLES = 60
STEADY = 0.05  # gains nearer to 1 are let be
SURELY_STEADY = 0.999 * STEADY  # whatever the last bit does
LEAST, MOST = 0.4, 3.2  # gains outside are another scene; what a darker picture has lost no gain brings back
ADAPT = 0.03  # share of a steady picture that goes into the reference
WHITE = 250
KEPT_S = 4.0  # so long in another light: it is the light now
# Brighter or darker by so much than for so long: what had run into white shows again, or no longer does. Lamps that flicker do so
# ten times a second and more.
JUMPS, BEFORE_S = 1.25, 0.3

Gains = npt.NDArray[np.float32]


class SteadyLight:
    """``steadied`` every frame in order. relit: from the last one on pictures are not what earlier ones would show."""

    def __init__(self) -> None:
        self.relit = False
        self._lights: deque[tuple[float, float]] = deque()
        self._reference: Any = None
        self._other_since: float | None = None

    def steadied(self, image: Any, time_s: float) -> Any:
        """The picture as the reference's light would show it. image: (h, w, 3) uint8 BGR."""
        grid = image[::STRIDE, ::STRIDE].transpose(2, 0, 1).astype(np.float32, order="C")  # a colour after the other
        used = self._used(grid)
        if used is not None and self._plainly_steady(grid, used):
            self.relit = self._jumps(1.0, time_s)
            return self._adapted(image, grid)
        gains = self._gains(grid, used) if used is not None else None
        if gains is None:
            return self._begun(image, grid)
        self.relit = self._jumps(float(gains.mean()), time_s)
        if np.abs(gains - 1.0).max() < STEADY:
            return self._adapted(image, grid)
        if self._other_since is None:
            self._other_since = time_s
        elif time_s - self._other_since > KEPT_S:
            return self._begun(image, grid)
        return cv2.LUT(image, _back(gains))

    def _begun(self, image: Any, grid: Any) -> Any:
        """This picture is the reference now."""
        self.relit = self._reference is not None
        self._reference, self._other_since = grid, None
        self._lights.clear()
        return image

    def _jumps(self, gain: float, time_s: float) -> bool:
        """Whether it is brighter or darker than of late."""
        lights = self._lights
        while lights and lights[0][0] < time_s - BEFORE_S:
            lights.popleft()
        of_late = [before for _, before in lights]
        lights.append((time_s, gain))
        return bool(of_late) and (gain > JUMPS * max(of_late) or gain * JUMPS < min(of_late))

    def _adapted(self, image: Any, grid: Any) -> Any:
        """A steady picture goes into the reference and is handed on as it is."""
        self._reference += ADAPT * (grid - self._reference)
        self._other_since = None
        return image

    def _used(self, grid: Any) -> Any:
        """(3, h, w) where both follow the light; None without a reference, or with too little of any colour."""
        before = self._reference
        if before is None or before.shape != grid.shape:
            return None
        low, high = USED
        used = (np.minimum(before, grid) > low) & (np.maximum(before, grid) < high)
        return used if min(np.count_nonzero(colour) for colour in used) >= LEAST_SAMPLES else None

    def _plainly_steady(self, grid: Any, used: Any) -> bool:
        """Whether more than half of the ratios of each colour are near 1, and so their medians: cheaper than these."""
        before = self._reference
        near = np.abs(grid - before) < SURELY_STEADY * before
        near &= used
        return all(2 * np.count_nonzero(n) > np.count_nonzero(u) for n, u in zip(near, used))

    def _gains(self, grid: Any, used: Any) -> Gains | None:
        """Of each colour against the reference; None when this is another scene."""
        colours = zip(self._reference, grid, used)
        found = np.array([median(now[use] / then[use]) for then, now, use in colours], np.float32)
        return found if found.min() > LEAST and found.max() < MOST else None


def _back(gains: Gains) -> Any:
    """The table that takes the gains out again, (1, 256, 3)."""
    levels = np.arange(256, dtype=np.float32)[:, None] / gains[None, :]
    levels[WHITE:] = 255.0
    return np.clip(np.round(levels), 0, 255).astype(np.uint8)[None]
