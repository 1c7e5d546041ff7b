"""Tells a wide brim: its rim is an ellipse much wider than a head, of one stuff all along (STUDY.md, "Wide brims")."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.head.rim import Rim

Array = npt.NDArray[Any]

REACH = 4.0  # of the picture that is looked at, half-widths of the head to each side
LEAST_WIDE = 1.6  # half-widths: what is narrower is hair, a cap, a hood
LEAST_EDGE = 33.0  # grey levels over the rim, but for a tenth of it
MOST_STEP = 26.0  # grey levels just inside the rim, from one place to the next, but for a tenth
INSIDE = 3.0  # how far inside that is, in steps of the blur
_ARC = np.radians(np.arange(-20.0, 201.0, 10.0))  # sides and lower rim; the upper may lie behind the crown


def _candidates() -> Array:
    """(n, 4) rims to try: dx, dy, half-width, half-height in half-widths of the head; narrow ones only to beat the wide."""
    rows = [
        (dx, dy, rx, rx * aspect)
        for rx in (1.2, 1.35, 1.5, 1.65, 1.8, 1.95, 2.1, 2.3, 2.5)
        for aspect in (0.5, 0.6, 0.7, 0.8, 0.95, 1.1, 1.25)
        for dx in (-0.2, 0.0, 0.2)
        for dy in np.arange(-1.2, 0.61, 0.15)
    ]
    return np.array(rows)


_RIMS = _candidates()


def find_rim(image: Array, x: float, y: float, half_width: float) -> Rim | None:
    """The rim of a wide brim around the place where a head is expected; None where there is none.

    image: (h, w, 3) as the camera gives it; x, y, half_width: px.
    """
    r = int(half_width * REACH)
    x0, y0 = max(int(x) - r, 0), max(int(y) - r, 0)
    crop = image[y0 : int(y) + r, x0 : int(x) + r].astype(np.float32)
    blur = max(0.6, half_width / 16)
    crop = cv2.GaussianBlur(crop, (0, 0), blur)
    t = _RIMS * half_width
    cx, cy, rx, ry = t[:, :1] + x - x0, t[:, 1:2] + y - y0, t[:, 2:3], t[:, 3:4]
    cos, sin = np.cos(_ARC), np.sin(_ARC)
    px, py = cx + rx * cos, cy + ry * sin
    nx, ny = cos / rx, sin / ry
    norm = np.hypot(nx, ny) / (1.5 * blur)
    nx, ny = nx / norm, ny / norm

    def read(steps: float, rows: slice = slice(None)) -> Array:
        at = [a[rows].astype(np.float32) for a in (px + steps * nx, py + steps * ny)]
        values: Array = cv2.remap(crop, *at, interpolation=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return values

    edge = np.linalg.norm(read(1.0) - read(-1.0), axis=2)
    height, width = crop.shape[:2]
    inside = ((px >= 0) & (py >= 0) & (px < width) & (py < height)).all(axis=1)
    k = int(np.argmax(np.sqrt(edge).mean(axis=1) * inside))
    if _RIMS[k, 2] < LEAST_WIDE or np.percentile(edge[k], 10) < LEAST_EDGE:
        return None
    step = np.linalg.norm(np.diff(read(-INSIDE, slice(k, k + 1))[0], axis=0), axis=1)
    if np.percentile(step, 90) > MOST_STEP:
        return None
    return Rim(np.array([cx[k, 0] + x0, cy[k, 0] + y0]), np.diag([rx[k, 0], ry[k, 0]]))
