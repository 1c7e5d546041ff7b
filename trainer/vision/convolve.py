"""The one layer that the small learned nets are made of, in plain numpy."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]


def convolve(x: Array, weight: Array) -> Array:
    """3 x 3, stride 2, one pixel of zeros around. x: (n, h, w, channels); weight: (9 * channels, out), or one each for equal
    shares of x."""
    n, height, width, channels = x.shape
    h, w = (height + 1) // 2, (width + 1) // 2
    padded = np.zeros((n, 2 * h + 1, 2 * w + 1, channels), np.float32)
    padded[:, 1 : height + 1, 1 : width + 1] = x
    picture, row, column, channel = padded.strides
    # Three pixels of a row lie side by side: (3 rows, 3 * channels) of each place, without copying.
    shape, strides = (n, h, w, 3, 3 * channels), (picture, 2 * row, 2 * column, row, channel)
    columns: Array = np.ndarray(shape, np.float32, padded, 0, strides)
    sums = columns.reshape(*weight.shape[:-2], -1, weight.shape[-2]) @ weight
    return np.asarray(sums.reshape(n, h, w, -1))
