"""How the camera has moved since a reference picture: shift and roll of what stands still, by direct alignment.

Gauss-Newton on grey levels over a pyramid (Lucas and Kanade 1981; Baker and Matthews 2004, additive forward alignment; from
memory) at the places where the picture has edges, which also a bare room has: a floor, a mat, shoes. What moves of itself, the
player's arms and putter, fits badly and counts for little; where it kept fitting badly it goes on counting for little.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.domain.robust import MAD_TO_SD
from trainer.vision.reduced import reduced_grey

WIDTH = 320  # px, to which pictures are made small: they shift by 0.03 px of it from frame to frame, still 0.08 of 640
LEVELS, ROUNDS, ENOUGH_PX = 3, 6, 0.01
MOST_PLACES, LEAST_PLACES = 3000, 60  # a level
EDGE = 2.5  # grey levels a px: steeper is an edge
BORDER = 8  # px, not looked at
SOFT = 0.8  # px, both pictures are blurred by
NOISE, WIDE = 1.0, 1.5  # grey levels of noise at least; so many spreads off a place counts a quarter
RESTLESS = 8.0  # grey levels: a place that kept being so far off counts a quarter
ROLL_PRIOR = 0.02  # of what the picture says of roll: a bare room says little
RENEWED_EVERY, RENEWED_SHARE, REMEMBERED = (
    5,
    0.25,
    0.3,
)  # frames; share of a new picture in the reference; in what is restless
LEAST_ALIKE = 0.5  # share of places that fit within LIKE grey levels: less, and the picture is another
LIKE = 12.0

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Moved:
    """From the reference picture to this one, about its middle. roll_rad: positive turns x to y."""

    x_px: float
    y_px: float
    roll_rad: float

    def matrix(self, size: tuple[int, int]) -> Floats:
        """(2, 3), from places of the reference to those of this picture of ``size`` (width, height)."""
        cos, sin = math.cos(self.roll_rad), math.sin(self.roll_rad)
        x, y = (size[0] - 1) / 2, (size[1] - 1) / 2
        return np.array(
            [[cos, -sin, self.x_px + x - cos * x + sin * y], [sin, cos, self.y_px + y - sin * x - cos * y]], np.float32
        )


NOT_MOVED = Moved(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class _Level:
    """Places of the reference with edges: grey levels (n,), their slopes by x, y and roll (n, 3), x and y from the middle."""

    grey: Floats
    slopes: Floats
    x: Floats
    y: Floats
    middle: tuple[float, float]
    weight: Floats


class CameraMotion:
    """``see`` every picture in order; the first is the reference."""

    def __init__(self) -> None:
        self._reference: Any = None
        self._restless: Any = None
        self._levels: list[_Level] = []
        self._last = NOT_MOVED  # px of the small picture
        self._seen = 0

    def see(self, image: Any) -> Moved | None:
        """image: (h, w, 3) uint8 BGR, always of one size. None: too little to hold on to, or another scene."""
        share = min(WIDTH / image.shape[1], 1.0)
        grey = reduced_grey(image, share).astype(np.float32)
        if self._reference is None:
            self._reference, self._restless = grey, np.zeros_like(grey)
            self._prepare()
            return NOT_MOVED if self._levels else None
        if grey.shape != self._reference.shape or not self._levels:
            return None
        pictures = _pyramid(grey)
        moved = self._align(pictures, self._last) or self._align(pictures, NOT_MOVED)
        if moved is None:
            return None
        self._last = moved
        self._seen += 1
        if self._seen < RENEWED_EVERY or self._seen % RENEWED_EVERY == 0:
            self._renew(grey, moved)
        return Moved(moved.x_px / share, moved.y_px / share, moved.roll_rad)

    def _renew(self, grey: Any, moved: Moved) -> None:
        """The picture of now goes into the reference: what lies about may be moved, light changes."""
        back = steadied(grey, moved)
        self._restless += REMEMBERED * (np.abs(back - self._reference) - self._restless)
        self._reference += max(RENEWED_SHARE, 1 / (self._seen + 1)) * (back - self._reference)
        self._prepare()

    def _prepare(self) -> None:
        levels, restless = [], self._restless
        for level, grey in enumerate(_pyramid(self._reference)):
            if level:
                restless = cv2.resize(restless, grey.shape[::-1], interpolation=cv2.INTER_AREA)
            found = _edges(grey, restless, max(2, BORDER >> level))
            if found is None:
                break
            levels.append(found)
        self._levels = levels

    def _align(self, pictures: list[Any], start: Moved) -> Moved | None:
        """From the coarsest level to the finest; in px of the finest."""
        shift, roll, alike = np.array([start.x_px, start.y_px]), start.roll_rad, 0.0
        for level in reversed(range(len(self._levels))):
            places, local = self._levels[level], shift / 2**level
            for _ in range(ROUNDS):
                off = _sampled(pictures[level], places, local, roll) - places.grey
                spread = MAD_TO_SD * float(np.median(np.abs(off))) + NOISE
                weight = places.weight / (1 + (off / (WIDE * spread)) ** 2) ** 2
                weighed = places.slopes * weight[:, None]
                normal = (weighed.T @ places.slopes).astype(float)
                right = -(weighed.T @ off).astype(float)
                right[2] -= ROLL_PRIOR * normal[2, 2] * roll
                normal[2, 2] *= 1 + ROLL_PRIOR
                normal[np.diag_indices(3)] += 1e-6
                step = np.linalg.solve(normal, right)
                local, roll = local + step[:2], roll + float(step[2])
                alike = float(np.mean(np.abs(off) < LIKE))
                if np.abs(step[:2]).max() < ENOUGH_PX:
                    break
            shift = local * 2**level
        sound = np.isfinite(shift).all() and math.isfinite(roll) and alike >= LEAST_ALIKE
        return Moved(float(shift[0]), float(shift[1]), roll) if sound else None


def steadied(image: Any, moved: Moved) -> Any:
    """The picture as the camera would have seen it where it was; at the edges what is next to them."""
    size = (image.shape[1], image.shape[0])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return cv2.warpAffine(image, moved.matrix(size), size, flags=flags, borderMode=cv2.BORDER_REPLICATE)


def _pyramid(grey: Any) -> list[Any]:
    pictures = [cv2.GaussianBlur(grey, (0, 0), SOFT)]
    while len(pictures) < LEVELS and min(pictures[-1].shape) >= 4 * BORDER:
        pictures.append(cv2.pyrDown(pictures[-1]))
    return pictures


def _edges(grey: Any, restless: Any, border: int) -> _Level | None:
    by_x, by_y = (cv2.Sobel(grey, cv2.CV_32F, dx, 1 - dx, ksize=3, scale=1 / 8) for dx in (1, 0))
    inner = np.zeros(grey.shape, bool)
    inner[border:-border, border:-border] = True
    at = np.flatnonzero((cv2.magnitude(by_x, by_y) > EDGE) & inner)
    if at.size < LEAST_PLACES:
        return None
    at = at[:: at.size // MOST_PLACES + 1]
    rows, width = grey.shape
    middle = ((width - 1) / 2, (rows - 1) / 2)
    y, x = (c.astype(np.float32) for c in np.divmod(at, width))
    x, y = x - np.float32(middle[0]), y - np.float32(middle[1])
    by_x, by_y = by_x.ravel()[at], by_y.ravel()[at]
    slopes = np.stack([by_x, by_y, x * by_y - y * by_x], axis=1)
    weight = 1 / (1 + (restless.ravel()[at] / RESTLESS) ** 2) ** 2
    return _Level(grey.ravel()[at], slopes, x, y, middle, weight)


def _sampled(picture: Any, places: _Level, shift: Any, roll: float) -> Any:
    """Grey levels (n,) where the places have come to."""
    cos, sin = math.cos(roll), math.sin(roll)
    x = cos * places.x - sin * places.y + (shift[0] + places.middle[0])
    y = sin * places.x + cos * places.y + (shift[1] + places.middle[1])
    maps = x.astype(np.float32), y.astype(np.float32)
    return cv2.remap(picture, *maps, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).ravel()
