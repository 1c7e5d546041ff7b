"""A picture made small, for what needs few pixels."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt


def reduced_grey(image_bgr: Any, scale: float) -> npt.NDArray[Any]:
    """Grey, in that share of its width and height. Halved as often as that goes: OpenCV does it many times faster than others."""
    grey = cv2.cvtColor(image_bgr, cv2.COLOR_BGR2GRAY)
    while scale <= 0.5 and min(grey.shape) >= 2:
        grey, scale = cv2.resize(grey, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), 2 * scale
    return np.asarray(
        grey if scale == 1.0 else cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_LINEAR)
    )
