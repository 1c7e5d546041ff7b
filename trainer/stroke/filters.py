"""Filters and small signal tools, numpy and scipy only.

Times in seconds, arrays (n,), NaN where not seen. Scipy is imported where it is used: it takes two fifths of what practice takes
to begin, and only a stroke that is over needs it (``load``).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Callable, Sequence

import numpy as np

from trainer.domain.record import Floats

# Winter, Biomechanics and Motor Control of Human Movement (from memory): two passes lower the cut-off by this factor.
TWO_PASS = (math.sqrt(2) - 1) ** 0.25


def load() -> None:
    """Imports ahead of time what the filters import late."""
    import scipy.optimize
    import scipy.signal  # noqa: F401


def even(time_s: Floats, values: Floats, rate_hz: float) -> tuple[Floats, Floats]:
    """Values on an even time grid (linear between samples), NaN gaps bridged."""
    seen = np.isfinite(values)
    n = int(np.floor((time_s[-1] - time_s[0]) * rate_hz + 1e-6)) + 1
    grid = time_s[0] + np.arange(n) / rate_hz
    return grid, np.interp(grid, time_s[seen], values[seen])


def rate_of(time_s: Floats) -> float:
    """Frames a second, from the median step (a dropped frame does not lower it)."""
    return float(1.0 / np.median(np.diff(time_s)))


def zero_lag(values: Floats, rate_hz: float, cutoff_hz: float) -> Floats:
    """Low-pass forward and backward (second-order Butterworth each way, so fourth in all, no lag), scipy's sosfiltfilt.

    cutoff_hz is that of both passes together: it is raised by Winter's factor before the design.
    """
    from scipy.signal import sosfiltfilt

    if len(values) < 4:
        return values.copy()
    sections = _low_pass(min(cutoff_hz / rate_hz, 0.4))
    return np.asarray(sosfiltfilt(sections, values, padlen=min(3 * 5, len(values) - 1)), dtype=np.float64)


@lru_cache(maxsize=64)
def _low_pass(share: float) -> Floats:
    """Sections of one pass for a cut-off of both passes at this share of the rate."""
    from scipy.signal import butter

    warped = math.tan(math.pi * share) / TWO_PASS
    return np.asarray(butter(2, min(2 * math.atan(warped) / math.pi, 0.98), output="sos"))


def smooth(time_s: Floats, values: Floats, cutoff_hz: float) -> Floats:
    """Zero-lag low-pass at the samples' own times; gaps are bridged for the filter and NaN again afterwards."""
    seen = np.isfinite(values)
    if seen.sum() < 2:
        return values.copy()
    rate_hz = rate_of(time_s)
    grid, evened = even(time_s, values, rate_hz)
    if len(grid) < 4:
        return values.copy()
    out = np.interp(time_s, grid, zero_lag(evened, rate_hz, cutoff_hz))
    out[(time_s < time_s[seen][0]) | (time_s > time_s[seen][-1])] = np.nan
    return out


def crossing_s(before: tuple[float, float], after: tuple[float, float], level: float) -> float:
    """Time at which the line between two (time, value) passes the level; that of the later where it does not."""
    (t0, a), (t1, b) = before, after
    low, high = (a, b) if a < b else (b, a)
    if not low < high or not low <= level <= high:  # NaN too
        return t1
    return t0 + (level - a) / (b - a) * (t1 - t0)


def first_crossing_s(
    time_s: Floats, values: Floats, level: float, start: int, stop: int, rising: bool = True
) -> float | None:
    """First time between samples start and stop at which the values cross the level, by linear interpolation."""
    v = values if rising else -values
    level = level if rising else -level
    for i in range(max(start, 0), min(stop, len(v) - 1)):
        a, b = v[i], v[i + 1]
        if a < level <= b:
            return float(crossing_s((time_s[i], a), (time_s[i + 1], b), level))
    return None


def slope(time_s: Floats, values: Floats) -> Floats:
    """First derivative at each sample (central, uneven steps allowed)."""
    if len(values) < 3:
        return np.zeros_like(values)
    return np.asarray(np.gradient(values, time_s), dtype=np.float64)


FAR_OFF = 1e9  # what a step to nowhere costs
CLOSE = 1e-8  # a step or gain less than this, of what there is: it has ended


def robust_fit(residual: Callable[[Floats], Floats], start: Sequence[float], scale: float) -> Floats:
    """Parameters that make the residuals small, outliers beyond ``scale`` counting by their size, not its square.

    Levenberg and Marquardt's method (MINPACK, by scipy) on residuals bent so that the sum of their squares is scipy's
    soft_l1 loss: many times faster than ``least_squares``, whose steps or slopes are taken in Python.
    """
    from scipy.optimize import leastsq

    def bent(q: Floats) -> Floats:
        r = residual(q) / scale
        if not np.isfinite(r).all():
            r = np.nan_to_num(r, nan=FAR_OFF, posinf=FAR_OFF, neginf=-FAR_OFF)
        return np.asarray(np.copysign(np.sqrt(2 * (np.sqrt(1 + r * r) - 1)), r))

    count = len(start)
    fitted, *_ = leastsq(
        bent, start, full_output=True, ftol=CLOSE, xtol=CLOSE, gtol=CLOSE, maxfev=100 * count, diag=np.ones(count)
    )
    return np.asarray(fitted)


def shakes(values: Floats) -> float:
    """White noise of a slow signal: of second differences, whose variance is six times the noise's; by the median."""
    seen = values[np.isfinite(values)]
    return float(1.48 * np.median(np.abs(np.diff(seen, 2))) / math.sqrt(6.0)) if len(seen) >= 5 else 0.0


SMOOTH_STEP_S = 0.04  # frames further apart than this do not tell noise from a quick swing


def shakes_moving(time_s: Floats, values: Floats) -> float:
    """White noise of something that swings: of fourth differences, whose variance is seventy times the noise's; by the median.

    0 where it cannot be told. A swing of 30 cm at 30 frames a second adds 0.05 cm at most. Stretches in which frames
    were lost are left out: there the swing itself bends.
    """
    steps = np.diff(time_s)
    if len(values) < 9 or float(np.median(steps)) > SMOOTH_STEP_S:
        return 0.0
    even = np.lib.stride_tricks.sliding_window_view(steps, 4).max(1) < 1.5 * float(np.median(steps))
    bends = np.diff(values, 4)
    bends = bends[np.isfinite(bends) & even]
    return float(1.48 * np.median(np.abs(bends)) / math.sqrt(70.0)) if len(bends) >= 5 else 0.0
