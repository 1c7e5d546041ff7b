"""The distance table: how far back, how quick, and what remains. Which of them makes the distances vary?

A putt's miss, log(rolled / target), is the sum of three parts: the stroke was longer than the player's own law asks for
that target; it was quicker than the player's own rhythm at that length (speed goes as length over time); and the
rest: strike, roll and green. A part's share is its covariance with the miss over the variance of the miss, so shares
sum to 1, and errors of the camera's lengths and times, being no part of the miss, do not bend them.

Variances and covariances are drawn from their posterior (Wishart, Jeffreys' rule), the law's exponent among what is not
known, and every draw is moved to the nearest shares that can be: none below 0, together 1. A part that made up for
another is so at 0. In simulation intervals of nine in ten hold the true share 82 to 96 times in a hundred.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, Sequence

import numpy as np
import numpy.typing as npt

from trainer.coaching.distance.checks import LEVEL
from trainer.coaching.distance.distance_model import DistanceModel, Estimate
from trainer.coaching.distance.fitting import bend
from trainer.coaching.distance.putt import Putt, log_speed_bounds
from trainer.coaching.distance.skid import launch_speed_m_s
from trainer.errors import UsageError
from trainer.texts import tr, tr_count

Floats = npt.NDArray[np.float64]
Part = Literal["length", "rhythm", "rest", "rhythm and rest"]

MIN_PUTTS = 8
_CONFIDENT = 0.80
_LAWS, _DRAWS = 25, 160  # exponents out of the law's posterior, draws for each
_FEWEST = 1000  # draws in which the misses are more than rounding

TABLE = tr("the distance table")
WORDS: dict[Part, str] = {
    "length": tr("how far back"),
    "rhythm": tr("how quick"),
    "rest": tr("not explained (strike, roll, green)"),
    "rhythm and rest": tr("how quick, and what is not explained (no times were seen)"),
}
SHORT: dict[Part, str] = {
    "length": WORDS["length"],
    "rhythm": WORDS["rhythm"],
    "rest": tr("not explained"),
    "rhythm and rest": tr("how quick, and what is not explained"),
}
# From what is not explained nothing is advised.
ADVICE: dict[Part, str] = {
    "length": tr("take it back to the mark, then no further"),
    "rhythm": tr("same rhythm for every length, count or use the tone"),
}


@dataclass(frozen=True, slots=True)
class DistanceTable:
    """proportions: of the variance of the miss, each with its interval, summing to 1; variability: of distance, one
    standard deviation, rounding taken out; largest: of the parts; confident: that it is, in 4 of 5 draws.
    """

    putts: int
    left_out: int
    variability: float
    proportions: dict[Part, Estimate]
    largest: Part
    confident: bool


def distance_table(putts: Sequence[Putt], scale: DistanceModel, level: float = LEVEL) -> DistanceTable:
    """putts: the very ones the scale was fitted to (its mishits are left out). Raises UsageError when there are too
    few.
    """
    kept = [p for i, p in enumerate(putts) if p.target_m is not None and i not in scale.mishits]
    if len(kept) < MIN_PUTTS:
        raise UsageError(
            tr_count("{count} putt with a target", "{count} putts with a target", len(kept)),
            TABLE,
            tr("at least {number} are needed", number=MIN_PUTTS),
        )
    miss = np.log([p.rolled_m / (p.target_m or math.nan) for p in kept])
    widths = np.array([np.diff(log_speed_bounds(p, scale.launch))[0] for p in kept]) * 2.0
    rounding = float((widths**2).mean()) / 12.0
    variance = float(miss.var(ddof=1)) - rounding
    if variance <= 0.1 * rounding:
        raise UsageError(tr("the distances vary by less than they are rounded"), TABLE, tr("measure them finer"))
    timed = all(p.to_impact_s is not None for p in kept)
    names: tuple[Part, ...] = ("length", "rhythm", "rest") if timed else ("length", "rhythm and rest")
    shares = _drawn(miss, kept, scale, rounding)
    best = int(np.argmax(shares.mean(axis=0)))
    return DistanceTable(
        len(kept),
        len([p for p in putts if p.target_m is not None]) - len(kept),
        math.sqrt(variance),
        {name: _around(shares[:, i], level) for i, name in enumerate(names)},
        names[best],
        bool((shares.argmax(axis=1) == best).mean() >= _CONFIDENT),
    )


def _drawn(miss: Floats, putts: Sequence[Putt], scale: DistanceModel, rounding: float) -> Floats:
    """(m, 2 or 3) shares drawn from their posterior. Raises UsageError."""
    rng = np.random.default_rng(1)
    quick = _quickness(putts)
    drawn = []
    for exponent in _exponents(scale):
        seen = [miss, _length_part(putts, scale, exponent)] + ([] if quick is None else [quick])
        covariance = _covariances(rng, np.vstack(seen), _DRAWS)
        variance = covariance[:, 0, 0] - rounding
        explained = covariance[:, 0, 1:]
        parts = np.column_stack([explained, variance - explained.sum(axis=1)])
        sound = variance > 0.1 * rounding
        drawn.append(parts[sound] / variance[sound, None])
    shares = np.concatenate(drawn)
    if len(shares) < _FEWEST:
        raise UsageError(tr("the distances vary by less than they are rounded"), TABLE, tr("measure them finer"))
    return _that_can_be(shares)


def _covariances(rng: np.random.Generator, values: Floats, draws: int) -> Floats:
    """values: (k, n) -> (draws, k, k) covariances from their posterior, an inverse Wishart distribution."""
    k, n = values.shape
    off = values - values.mean(axis=1, keepdims=True)
    root = np.linalg.cholesky(off @ off.T + 1e-12 * np.eye(k))
    lower = np.tril(rng.standard_normal((draws, k, k)), -1)
    freedom = n - 2 - np.arange(k)  # the mean took one, the fitted line another
    lower[:, range(k), range(k)] = np.sqrt(rng.chisquare(freedom, (draws, k)))
    half = np.matmul(root, np.swapaxes(np.linalg.inv(lower), 1, 2))  # Bartlett's way of drawing
    return np.asarray(np.matmul(half, np.swapaxes(half, 1, 2)), dtype=np.float64)


def _that_can_be(shares: Floats) -> Floats:
    """(m, k): the nearest with none below 0 and sum 1 (projection on the simplex)."""
    ranked = -np.sort(-shares, axis=1)
    over = (np.cumsum(ranked, axis=1) - 1.0) / np.arange(1, shares.shape[1] + 1)
    last = (ranked > over).sum(axis=1) - 1
    found: Floats = np.maximum(shares - np.take_along_axis(over, last[:, None], axis=1), 0.0)
    return found


def _exponents(scale: DistanceModel) -> Floats:
    """Evenly out of the law's posterior."""
    order = np.argsort(scale.law.nodes[:, 1])
    sums = np.cumsum(scale.law.weights[order])
    at = (np.arange(_LAWS) + 0.5) / _LAWS
    return np.asarray(np.interp(at, sums, scale.law.nodes[order, 1]), dtype=np.float64)


def _length_part(putts: Sequence[Putt], scale: DistanceModel, exponent: float) -> Floats:
    """(n,) how much of the log miss the stroke's length makes; its mean is of no account."""
    needed = np.log(
        [launch_speed_m_s(p.target_m or math.nan, p.green_speed_ft, p.slope_pct, scale.launch) for p in putts]
    )
    x = np.log([p.back_cm / scale.reference_cm for p in putts])
    bent = float(scale.law.weights @ scale.law.nodes[:, 3])
    return np.asarray(2.0 * (exponent * x + bent * bend(x) - needed), dtype=np.float64)


def _quickness(putts: Sequence[Putt]) -> Floats | None:
    """(n,) how much of the log miss the time to impact makes. None where a time was not seen."""
    if any(p.to_impact_s is None for p in putts):
        return None
    log_time = np.log([p.to_impact_s or math.nan for p in putts])
    # The player's own change of time with length is no miss: only what is left of it.
    own = np.column_stack([np.ones(len(putts)), np.log([p.back_cm for p in putts])])
    return np.asarray(-2.0 * (log_time - own @ np.linalg.lstsq(own, log_time, rcond=None)[0]), dtype=np.float64)


def _around(draws: Floats, level: float) -> Estimate:
    """The mean, and the interval that leaves as many draws on either side."""
    value = float(draws.mean())
    low, high = np.quantile(draws, (0.5 - level / 2.0, 0.5 + level / 2.0))
    return Estimate(value, min(value, float(low)), max(value, float(high)))
