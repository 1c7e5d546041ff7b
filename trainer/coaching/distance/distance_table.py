"""The distance table: how far back, how quick, how centred. Which of them makes the distances vary?

A putt's miss, log(rolled / target), is the sum of three parts: the stroke was longer than the player's own law asks for
that target; it was quicker than the player's own rhythm at that length (speed goes as length over time); and the
rest: strike, roll and green. A part's share is its covariance with the miss over the variance of the miss, so shares
sum to 1, and errors of the camera's lengths and times, being no part of the miss, do not bend them. A share below 0
means that this dial made up for another.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, Sequence

import numpy as np
import numpy.typing as npt

from trainer.coaching.distance.distance_model import LEVEL, DistanceModel, Estimate
from trainer.coaching.distance.putt import Putt, log_speed_bounds
from trainer.coaching.distance.skid import launch_speed_m_s
from trainer.errors import UsageError

Floats = npt.NDArray[np.float64]
Dial = Literal["length", "rhythm", "strike", "rhythm and strike"]

MIN_PUTTS = 8
_DRAWS = 400
_CONFIDENT = 0.80

WORDS: dict[Dial, str] = {
    "length": "how far back",
    "rhythm": "how quick",
    "strike": "how centred (strike, roll and green)",
    "rhythm and strike": "how quick and how centred (no times were seen)",
}
ADVICE: dict[Dial, str] = {
    "length": "take it back to the mark, then no further",
    "rhythm": "same rhythm for every length, count or use the tone",
    "strike": "meet it with the middle of the face; same softness",
    "rhythm and strike": "same rhythm for every length, middle of the face",
}


@dataclass(frozen=True, slots=True)
class DistanceTable:
    """proportions: of the variance of the miss, each with its interval, summing to 1; variability: of distance, one
    standard deviation, rounding taken out; work_on: the largest; confident: whether it is so in 4 of 5 redrawn samples.
    """

    putts: int
    left_out: int
    variability: float
    proportions: dict[Dial, Estimate]
    work_on: Dial
    confident: bool


def distance_table(putts: Sequence[Putt], scale: DistanceModel, level: float = LEVEL) -> DistanceTable:
    """putts: the very ones the scale was fitted to (its mishits are left out). Raises UsageError when there are too
    few.
    """
    kept = [p for i, p in enumerate(putts) if p.target_m is not None and i not in scale.mishits]
    if len(kept) < MIN_PUTTS:
        raise UsageError(f"{len(kept)} putts with a target", "the distance table", f"at least {MIN_PUTTS} are needed")
    miss, parts = _parts(kept, scale)
    widths = np.array([np.diff(log_speed_bounds(p, scale.launch))[0] for p in kept]) * 2.0
    rounding = float((widths**2).mean()) / 12.0
    variance = float(miss.var(ddof=1)) - rounding
    if variance <= 0.1 * rounding:
        raise UsageError("the distances vary by less than they are rounded", "the distance table", "measure them finer")
    names: tuple[Dial, ...] = ("length", "rhythm", "strike") if len(parts) == 3 else ("length", "rhythm and strike")
    whole = np.arange(len(kept))[None, :]
    drawn = np.random.default_rng(1).integers(0, len(kept), (_DRAWS, len(kept)))
    value, redrawn = (_shares(miss, parts, rounding, pick) for pick in (whole, drawn))
    low, high = np.quantile(redrawn, (0.5 - level / 2.0, 0.5 + level / 2.0), axis=0)
    best = int(np.argmax(value[0]))
    return DistanceTable(
        len(kept),
        len([p for p in putts if p.target_m is not None]) - len(kept),
        math.sqrt(variance),
        {n: Estimate(float(value[0, i]), float(low[i]), float(high[i])) for i, n in enumerate(names)},
        names[best],
        bool((redrawn.argmax(axis=1) == best).mean() >= _CONFIDENT),
    )


def _parts(putts: Sequence[Putt], scale: DistanceModel) -> tuple[Floats, Floats]:
    """(n,) log misses and (2 or 3, n) their parts."""
    targets = [p.target_m or math.nan for p in putts]
    miss = np.log([p.rolled_m / t for p, t in zip(putts, targets, strict=True)])
    needed = np.log(
        [launch_speed_m_s(t, p.green_speed_ft, p.slope_pct, scale.launch) for p, t in zip(putts, targets, strict=True)]
    )
    log_length = np.log([p.back_cm / scale.reference_cm for p in putts])
    length = 2.0 * (math.log(scale.speed_m_s.value) + scale.exponent.value * log_length - needed)
    if any(p.to_impact_s is None for p in putts):
        return miss, np.vstack([length, miss - length])
    log_time = np.log([p.to_impact_s or math.nan for p in putts])
    # The player's own change of time with length is no miss: only what is left of it.
    own = np.column_stack([np.ones_like(log_length), log_length])
    quick = -2.0 * (log_time - own @ np.linalg.lstsq(own, log_time, rcond=None)[0])
    return miss, np.vstack([length, quick, miss - length - quick])


def _shares(miss: Floats, parts: Floats, rounding: float, pick: npt.NDArray[np.int64]) -> Floats:
    """(draws, parts): covariances with the miss over its variance; rounding belongs to the last part and is taken
    out.
    """
    e = miss[pick]
    e = e - e.mean(axis=1, keepdims=True)
    both = np.stack([(e * part[pick]).sum(axis=1) for part in parts], axis=1) / (pick.shape[1] - 1)
    both[:, -1] -= rounding
    shares: Floats = both / np.maximum(both.sum(axis=1, keepdims=True), 0.1 * rounding + 1e-12)
    return shares
