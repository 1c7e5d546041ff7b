"""A picture made small, for what needs few pixels or is looked at small."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt


def reduced_grey(image_bgr: Any, scale: float) -> npt.NDArray[Any]:
    """Grey, in that share of its width and height. Halved as often as that goes: OpenCV does it many times faster than others."""
    grey, scale = _halved(cv2.cvtColor(image_bgr, cv2.COLOR_BGR2GRAY), scale)
    if scale == 1.0:
        return np.asarray(grey)
    rows, width = (max(1, round(scale * side)) for side in grey.shape)
    size = (width, rows) if min(rows, width) == 1 else None  # a strip; else the very scale counts
    return np.asarray(cv2.resize(grey, size, fx=scale, fy=scale, interpolation=cv2.INTER_LINEAR))


def fitted(image: Any, size: tuple[int, int]) -> npt.NDArray[Any]:
    """In that size (width, height px), to be looked at: averaging at once shows no more and takes seven times as long."""
    halved, _ = _halved(image, size[0] / image.shape[1])
    return np.asarray(cv2.resize(halved, size, interpolation=cv2.INTER_LINEAR))


def _halved(image: Any, scale: float) -> tuple[Any, float]:
    """As often as that goes on the way to that share of its size, and the share that is left."""
    while scale <= 0.5 and min(image.shape[:2]) >= 2:
        image, scale = cv2.resize(image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), 2 * scale
    return image, scale
