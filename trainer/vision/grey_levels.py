"""Few grey levels, in haze or in the dark, spread over those there are: things are known by how many they stand out.

Limits are ours, of 255: on rendered clips as they are the brightest place is 200 and more; with a quarter of their light 75.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from trainer.vision.body.points import BodyPoints

STRIDE = 6  # px, between those looked at
GLARE_SHARE = 0.25  # of the picture at full white: too bright; common practice, no source
SPREAD = (20.0, 235.0)
# Behind haze nothing is black: the darkest hundredth lies above HAZE, and all that is shown within so few grey levels.
HAZE, HAZY_LEVELS = 60.0, 130.0
HAZY_STILL = 150.0  # once they are spread: a ball that comes and goes is no haze that does
SHIFTED = 12.0  # grey levels outside of what is spread, until more is
SHRUNK = 0.6  # share of what is spread that is left, until less is
DIM, DIM_STILL = 100.0, 115.0  # in the dark nothing about the player is brighter; once it is spread
ASIDE, BELOW = (
    0.4,
    0.15,
)  # heights of the player's points that belong to it at either side and below: putter and ball, no lamp
MOST_GAIN = 6.0
BRIGHTER = 1.08  # times the brightest there was, until it is (255 of SPREAD's 235)


@dataclass(frozen=True, slots=True)
class SpreadLevels:
    """table (256,): for ``cv2.LUT``; gain: by which noise grows with it; low, high: what became SPREAD (0: what became 0)."""

    table: Any
    gain: float
    low: float
    high: float

    def fits(self, low: float, high: float) -> bool:
        """Whether it spreads these levels well enough not to be changed."""
        narrow = high - low < SHRUNK * (self.high - self.low)
        if not self.low:
            return high <= BRIGHTER * self.high and not narrow
        return max(self.low - low, high - self.high) <= SHIFTED and not narrow

    @staticmethod
    def of_haze(low: float, high: float) -> SpreadLevels:
        levels = np.interp(np.arange(256), (0, low, high), (0, *SPREAD))
        return SpreadLevels(np.round(levels).astype(np.uint8), (SPREAD[1] - SPREAD[0]) / (high - low), low, high)

    @staticmethod
    def of_the_dark(high: float) -> SpreadLevels:
        gain = min(MOST_GAIN, SPREAD[1] / high)
        return SpreadLevels(np.round(np.minimum(gain * np.arange(256), 255)).astype(np.uint8), gain, 0.0, high)


class GreyLevels:
    """``see`` some of the pictures in order."""

    def __init__(self) -> None:
        self._spread: SpreadLevels | None = None
        self._player = slice(None), slice(None)

    def see(self, image: Any, body: BodyPoints | None = None) -> SpreadLevels | None:
        """How its levels are spread; None where they are well as they are. The same for as long as it will do: all that was
        learned of the picture before is out of date with another. image: (h, w, 3) uint8; body: of whom it is a picture."""
        green = image[..., 1]
        low = float(np.percentile(green[::STRIDE, ::STRIDE], 1))
        high = float(green.max())  # it may be the ball
        before = self._spread
        self._player = _part(body) or self._player
        shown = float(green[self._player].max(initial=0))
        dim, hazy = (before is not None and (before.low == 0.0) == dark for dark in (True, False))
        if high - low < 1.0:
            self._spread = None
        elif shown < (DIM_STILL if dim else DIM):
            if shown and (before is None or hazy or not before.fits(0.0, shown)):
                self._spread = SpreadLevels.of_the_dark(shown)
        elif low < HAZE or high - low > (HAZY_STILL if hazy else HAZY_LEVELS):
            self._spread = None
        elif before is None or dim or not before.fits(low, high):
            self._spread = SpreadLevels.of_haze(low, high)
        return self._spread


def _part(body: BodyPoints | None) -> tuple[slice, slice] | None:
    """Rows and columns of the picture that the player, the putter and the ball are in."""
    if not body:
        return None
    places = np.array([p[:2] for p in body.values()])
    (x0, y0), (x1, y1) = places.min(axis=0), places.max(axis=0)
    tall = y1 - y0
    y0, y1, x0, x1 = (max(0, int(v)) for v in (y0, y1 + BELOW * tall + 1, x0 - ASIDE * tall, x1 + ASIDE * tall + 1))
    return slice(y0, y1), slice(x0, x1)
