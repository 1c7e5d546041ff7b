"""A learning curve y = A + B exp(-c n), where there are enough sessions for one and it says more than a level line.

Single learners follow an exponential rather than a power (Heathcote, Brown and Mewhort 2000, Psychon. Bull. Rev. 7,
185-207).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

import numpy as np

from trainer.texts import tr

MIN_STROKES = 8  # three parameters want more than twice as many points
MIN_GAIN = (
    4.0  # AICc must be better than a level line's by this much ("considerably less support", Burnham and Anderson)
)


@dataclass(frozen=True, slots=True)
class LearningCurve:
    """y(n) = end + gap exp(-rate n), n from 0. misfit: standard deviation around it; half_after: n to halve the gap."""

    end: float
    gap: float
    rate: float
    misfit: float
    count: int

    @property
    def half_after(self) -> float:
        return math.log(2.0) / self.rate

    def at(self, n: float) -> float:
        return self.end + self.gap * math.exp(-self.rate * n)


def fit_curve(values: Sequence[float]) -> tuple[LearningCurve | None, str]:
    """(curve, "") or (None, why not). values: one a session or block, in order; all finite."""
    n = len(values)
    if n < MIN_STROKES:
        return None, tr("{n} points so far; a curve needs {min_strokes}", n=n, min_strokes=MIN_STROKES)
    from scipy.optimize import least_squares  # takes a while to import

    y = np.asarray(values, dtype=np.float64)
    x = np.arange(n, dtype=np.float64)
    scale = float(np.ptp(y))
    if scale == 0.0:
        return None, tr("nothing has changed yet")
    level_sse = float(((y - y.mean()) ** 2).sum())
    best = None
    for rate in (0.5 / n, 2.0 / n, 8.0 / n):
        fit = least_squares(
            lambda q: q[0] + q[1] * np.exp(-math.exp(q[2]) * x) - y,
            [y[-1], y[0] - y[-1], math.log(rate)],
            # Slower than a third of a time constant over all is a straight line; quicker than one point is no curve.
            bounds=([-np.inf, -np.inf, math.log(0.3 / n)], [np.inf, np.inf, math.log(3.0)]),
            x_scale=[scale, scale, 1.0],
        )
        if best is None or fit.cost < best.cost:
            best = fit
    assert best is not None
    sse = 2.0 * float(best.cost)
    floor = 1e-12 * scale * scale * n
    gain = _aicc(max(level_sse, floor), n, 2) - _aicc(max(sse, floor), n, 4)
    if gain < MIN_GAIN:
        return None, tr("the values vary more than they change")
    end, gap, rate = float(best.x[0]), float(best.x[1]), math.exp(float(best.x[2]))
    return LearningCurve(end, gap, rate, math.sqrt(sse / max(n - 3, 1)), n), ""


def _aicc(sse: float, n: int, parameters: int) -> float:
    """Akaike's criterion for least squares, corrected for few points; parameters include the variance."""
    extra = 2 * parameters * (parameters + 1) / (n - parameters - 1)
    return n * math.log(sse / n) + 2 * parameters + extra
