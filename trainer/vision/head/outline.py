"""Finds the outline of a bowed head as an ellipse, starting from pose landmarks.

On a head bowed over a ball the pose model's ears sit about 10 px (at 640 wide) below the ears' rims and too close
together, so its landmarks only say where to look; the picture's own edges along the upper outline decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]

# Fractions of shoulder width (measured on rendered truth, face-on at address; adult proportions).
HALF_WIDTH_PER_SHOULDERS = 0.25
CENTRE_ABOVE_EARS = 0.14
MIN_HALF_WIDTH_PX = 2.0  # a smaller head has no outline to be told from noise
MEAN_HIGHER = 0.25  # half-widths that the mean of the ellipses is put higher; set by the study in STUDY.md
_ARC = np.radians(np.arange(-200.0, 21.0, 5.0))  # upper outline, picture angles (y down)


@dataclass(frozen=True, slots=True)
class HeadEllipse:
    """Outline in image px: centre, half-width, half-height; edge: mean edge strength along it (grey levels)."""

    x: float
    y: float
    half_width: float
    half_height: float
    edge: float


def expected_head(points: dict[str, Array], least_px: float = 0.0) -> tuple[float, float, float] | None:
    """(x, y, half_width) in px from pose points ``name -> (x, y, visibility)``; None without shoulders and face.

    least_px: of half_width; shoulders that say less are seen from the side, or misread.
    """
    names = ("left_shoulder", "right_shoulder", "left_ear", "right_ear", "nose")
    if any(n not in points for n in names):
        return None
    ls, rs, le, re, nose = (points[n] for n in names)
    shoulders = max(float(np.hypot(ls[0] - rs[0], ls[1] - rs[1])), least_px / HALF_WIDTH_PER_SHOULDERS)
    if shoulders < 12:
        return None
    x = ((le[0] + re[0]) / 2 + nose[0]) / 2
    y = (le[1] + re[1]) / 2 - CENTRE_ABOVE_EARS * shoulders
    return float(x), float(y), HALF_WIDTH_PER_SHOULDERS * shoulders


def _candidates() -> Array:
    """Ellipses to try, as (dx, dy, half-width, half-height) in expected half-widths, with their prior cost."""
    rows = [
        (dx, dy, rx, rx * aspect)
        for rx in np.arange(0.84, 1.2, 0.06)
        for aspect in (1.2, 1.35, 1.5, 1.65)
        for dx in np.arange(-0.3, 0.31, 0.1)
        for dy in np.arange(-0.7, 0.41, 0.1)
    ]
    c = np.array(rows)
    cost = (
        (c[:, 0] / 0.25) ** 2
        + (c[:, 1] / 0.5) ** 2
        + ((c[:, 2] - 1) / 0.15) ** 2
        + ((c[:, 3] / c[:, 2] - 1.4) / 0.2) ** 2
    )
    return np.column_stack([c, cost])


_ELLIPSES = _candidates()


def place_twice(image: Array, x: float, y: float, half_width: float) -> tuple[HeadEllipse, HeadEllipse] | None:
    """The ellipse whose upper outline has the strongest edges, and the mean of all that were tried, the better the more,
    ``MEAN_HIGHER``: about as good. None when the head is not wholly in the picture or too small.
    """
    height, width = image.shape[:2]
    if half_width < MIN_HALF_WIDTH_PX or not (half_width < x < width - half_width and 0 < y < height):
        return None
    r = int(half_width * 3)
    x0, y0 = max(int(x) - r, 0), max(int(y) - r, 0)
    crop = image[y0 : int(y) + r, x0 : int(x) + r].astype(np.float32)
    crop = cv2.GaussianBlur(crop, (0, 0), max(0.6, half_width / 16))
    t = _ELLIPSES * half_width
    cx, cy, rx, ry = t[:, :1] + x - x0, t[:, 1:2] + y - y0, t[:, 2:3], t[:, 3:4]
    cos, sin = np.cos(_ARC), np.sin(_ARC)
    px, py = cx + rx * cos, cy + ry * sin
    nx, ny = cos / rx, sin / ry
    norm = np.hypot(nx, ny) / (1.5 * half_width / 16)
    nx, ny = nx / norm, ny / norm

    def read(a: Array, b: Array) -> Array:
        flags = {"interpolation": cv2.INTER_LINEAR, "borderMode": cv2.BORDER_REPLICATE}
        values: Array = cv2.remap(crop, a.astype(np.float32), b.astype(np.float32), **flags)
        return values

    edge = np.linalg.norm(read(px + nx, py + ny) - read(px - nx, py - ny), axis=2)
    score = 4 * np.sqrt(edge).mean(axis=1) - _ELLIPSES[:, 4]
    k = int(np.argmax(score))
    tried = np.hstack([cx + x0, cy + y0, rx, ry, edge.mean(axis=1, keepdims=True)])
    share = np.exp(score - score[k])
    mean = share @ tried / share.sum()
    mean[1] -= MEAN_HIGHER * mean[2]
    return HeadEllipse(*map(float, tried[k])), HeadEllipse(*map(float, mean))
