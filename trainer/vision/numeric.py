"""Small things done every frame, where numpy's own general versions cost more than the sum itself."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Iterable

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def middle(values: Iterable[float] | Any) -> float:
    """The median of a few dozen values; of an even number the upper of the two in the middle."""
    ordered = sorted(values.tolist() if isinstance(values, np.ndarray) else values)
    return float(ordered[len(ordered) // 2])


def median(values: Any) -> float:
    """The median of a 1-d array of numbers, as numpy's own gives it; NaN without any."""
    count = len(values)
    if count == 0:
        return float("nan")
    k = count // 2
    if count % 2:
        return float(np.partition(values, k)[k])
    parted = np.partition(values, (k - 1, k))
    return float((parted[k - 1] + parted[k]) / 2)


def median_of_rows(values: Any) -> Any:
    """(columns,) the median of each column of (rows, columns), as numpy's own gives it."""
    ordered, k = np.sort(values, axis=0), len(values) // 2
    return ordered[k] if len(values) % 2 else (ordered[k - 1] + ordered[k]) / 2


@lru_cache(maxsize=256)
def row_middles(rows: int) -> Floats:
    """(rows,) the middles of so many equal parts of 0 to 1; not to be written to."""
    middles: Floats = (np.arange(rows) + 0.5) / rows
    middles.setflags(write=False)
    return middles


def inverse_2x2(m: Floats) -> Floats:
    """The inverse of a (2, 2) matrix."""
    (a, b), (c, d) = m.tolist()
    scale = 1.0 / (a * d - b * c)
    return np.array([[d * scale, -b * scale], [-c * scale, a * scale]])
