"""A backstroke as smooth shapes tell it: each fitted to the path, all of them weighed by how well they fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np

from trainer.domain.record import Floats
from trainer.stroke.filters import robust_fit
from trainer.stroke.path import Path

MAX_MISFIT = 0.03  # of the backstroke's length: more, and the fitted shape does not speak for this player


@dataclass(frozen=True)
class Fit:
    """One shape fitted to a backstroke: onset and arrival (s), length (cm); misfit: root mean square, share of the length."""

    onset_s: float
    arrive_s: float
    length_cm: float
    shape: Callable[[Floats], Floats]
    misfit: float

    def passes(self, distance_cm: float) -> float | None:
        """Time at which it is this far behind its place at rest; None if it never is."""
        u = np.linspace(0, 1, 2001)
        k = int(np.searchsorted(self.length_cm * self.shape(u), distance_cm))
        return None if k >= len(u) else float(self.onset_s + u[k] * (self.arrive_s - self.onset_s))


@dataclass(frozen=True)
class Backstroke:
    """A backstroke as smooth shapes tell it that were fitted to its path, each with its weight. misfit: of the best."""

    fits: tuple[Fit, ...]
    weights: Floats
    misfit: float

    @property
    def onset_s(self) -> float:
        return float(self.weights @ [fit.onset_s for fit in self.fits])

    def begins_s(self, takeaway_s: float) -> float:
        """Start of its motion, before the 5 mm of takeaway."""
        return float(np.clip(self.onset_s, takeaway_s - 0.25, takeaway_s))

    @property
    def arrive_s(self) -> float:
        return float(self.weights @ [fit.arrive_s for fit in self.fits])

    def passes(self, distance_cm: float) -> float | None:
        """Time at which it is this far behind its place at rest; None if it never is."""
        times_s = [time_s for fit in self.fits if (time_s := fit.passes(distance_cm)) is not None]
        return float(self.weights @ times_s) if len(times_s) == len(self.fits) else None


def _minimum_jerk(u: Floats) -> Floats:
    """0..1 with rest at both ends: Flash and Hogan 1985, J. Neurosci. 5(7), 1688-1703 (from memory)."""
    return np.asarray(u**3 * (10 - 15 * u + 6 * u * u))


def _pendulum(u: Floats) -> Floats:
    """0..1 along half a swing of a pendulum."""
    return np.asarray((1 - np.cos(np.pi * u)) / 2)


def _bent(shape: Callable[[Floats], Floats], power: float) -> Callable[[Floats], Floats]:
    """The same way gone with another time course: quicker off the start below 1, later above."""
    return lambda u: shape(u**power)


# A shape's weight falls with its misfit as a likelihood does, of as many samples as a backstroke has at 30 frames a second. The
# best alone is another one with each noise, which moved one stroke's top by 8.9 ms (SD), its onset by 15.7; so 6.5 and 13.9.
CHOOSY = 24.0
LEANING = 1.15  # a leaning shape must fit better than a symmetric one by this, else noise alone picks it
# What a backstroke may look like: both textbook shapes, symmetric and leaning. Telling only the two symmetric ones apart left
# the top 28 ms off (95 %) on invented strokes of all kinds; with these it is 15 ms.
SHAPES = tuple((_bent(_minimum_jerk, p), 1.0 if p == 1 else LEANING) for p in (0.88, 0.94, 1.0, 1.06, 1.13)) + tuple(
    (_bent(_pendulum, p), 1.0 if p == 1 else LEANING) for p in (0.92, 1.0, 1.08)
)


def fit_backstroke(path: Path, takeaway_s: float, top_s: float) -> Backstroke | None:
    """SHAPES, fitted to the raw path from rest to top with free start, end, size and place at rest."""
    t, x = path.time_s, path.raw_cm
    use = (t > takeaway_s - 0.25) & (t < top_s + 0.02) & np.isfinite(x)
    length = -float(np.nanmin(path.x_cm[use], initial=0.0))
    if use.sum() < 6 or length < 0.8:
        return None
    ts, share = t[use] - takeaway_s, -x[use] / length
    fits, costs = [], []
    for shape, handicap in SHAPES:

        def residual(q: Floats, shape: Callable[[Floats], Floats] = shape) -> Floats:
            u = np.minimum(np.maximum((ts - q[0]) / max(q[1] - q[0], 0.05), 0.0), 1.0)  # clip, without its wrapper
            return np.asarray(q[3] + q[2] * shape(u) - share)

        fitted = robust_fit(residual, [-0.08, top_s - takeaway_s, 1.0, 0.0], 0.02)
        misfit = float(np.sqrt(np.mean(residual(fitted) ** 2)))
        onset, arrive, size, _ = (float(v) for v in fitted)
        fits.append(Fit(onset + takeaway_s, arrive + takeaway_s, size * length, shape, misfit))
        costs.append(misfit * handicap)
    weights = (min(costs) / np.maximum(costs, 1e-9)) ** CHOOSY
    return Backstroke(tuple(fits), weights / weights.sum(), fits[int(np.argmin(costs))].misfit)
