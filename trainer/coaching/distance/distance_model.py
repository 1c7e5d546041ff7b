"""A player's own scale: how long a backstroke sends the ball how far.

The law: launch speed = k (length / A0)^g, a little bent. With a constant rhythm g is 1 (R. D. Grober, "Resonance in
putting", 2009: speed proportional to backstroke length, duration nearly constant), but every player also changes the
timing with length (Front. Psychol. 4:1005, 2014), so k, g and the bend are each player's own. Roll-out grows with launch
speed squared.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

import numpy as np
import numpy.typing as npt

from trainer.coaching.distance.checks import LEVEL
from trainer.coaching.distance.fitting import Posterior, Prior, bend, posterior
from trainer.coaching.distance.published import TOUR_BACK_CM, TOUR_IMPACT_S, steady_speed_m_s
from trainer.coaching.distance.putt import Putt, log_speed_bounds
from trainer.coaching.distance.roll import deceleration_m_s2, line_deceleration_m_s2
from trainer.coaching.distance.skid import (
    BALL_PUTTER_RATIO,
    DEFAULT_LAUNCH,
    Launch,
    launch_speed_m_s,
    run_per_speed_squared,
)

Floats = npt.NDArray[np.float64]

LAST_PUTTS = 60  # a scale drifts with the habit; older putts would not make it surer by much
# Length and time vary over tour players by 16 and 11 %: together 0.2 in log; widened, a student is no tour player.
_SPEED_PRIOR_SD = 0.30
# Every player changes the timing too; how much is not in the abstract. 0.12 means that the time to impact changes by
# 13 % over an eightfold distance, about as much as it differs between tour players (11 %): our estimate.
_EXPONENT_PRIOR = (1.0, 0.12)
# The exponent changes within a player too, between the shortest and the longest putts by about as much as it differs
# between players (twice this, at most): our estimate, no source.
_BEND_PRIOR = (0.0, 0.10)
# Good players' distance varies by 6.8 to 10.6 %, half of that in speed; students vary more: wide.
_NOISE_PRIOR = (math.log(0.055), 1.0)
_PRIOR_SPEED_M_S = BALL_PUTTER_RATIO * steady_speed_m_s(TOUR_BACK_CM.mean, TOUR_IMPACT_S.mean)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its interval at ``LEVEL`` unless said otherwise."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class DistanceModel:
    """The fitted law. reference_cm: A0; speed_m_s: launch speed at A0; variability: of distance, one standard
    deviation.

    putts: how many it rests on; mishits: places (in the putts given) of those that do not belong to it; green_speed_ft: the
    greens' middle speed; reach_m: level distances on that green which the putts cover, mishits left out, None when there
    are none.
    """

    reference_cm: float
    speed_m_s: Estimate
    exponent: Estimate
    variability: Estimate
    putts: int
    mishits: tuple[int, ...]
    green_speed_ft: float | None
    one_green: bool
    reach_m: tuple[float, float] | None
    launch: Launch
    law: Posterior

    def length_cm(
        self,
        distance_m: float,
        green_speed_ft: float,
        slope_pct: float = 0.0,
        green_error: float = 0.0,
        level: float = LEVEL,
    ) -> Estimate:
        """Backstroke length for a distance, with the interval in which the player's own law puts it.

        green_error: relative, half a band (`Green.relative_error`). Putts on the very same green share its error, so
        that it cancels on the level. Raises RunawayError.
        """
        log_speed = math.log(launch_speed_m_s(distance_m, green_speed_ft, slope_pct, self.launch))
        spread = self._green_spread(green_speed_ft, slope_pct, green_error)
        log_length = self.law.log_length(log_speed + spread * self.law.z)
        return _exp(_quantiles(log_length, self.law.weights, level), self.reference_cm)

    def distance_m(
        self,
        back_cm: float,
        green_speed_ft: float,
        slope_pct: float = 0.0,
        green_error: float = 0.0,
        level: float = LEVEL,
    ) -> Estimate:
        """Where a ball stops after a stroke of that length: the band holds one putt struck as usual, no mishit.

        Raises RunawayError.
        """
        run = run_per_speed_squared(green_speed_ft, slope_pct, self.launch)
        spread = self._green_spread(green_speed_ft, slope_pct, green_error)
        log_speed = self.law.one_putt(math.log(back_cm / self.reference_cm), spread)
        return _exp(_quantiles(2.0 * log_speed, self.law.weights, level), run)

    def _green_spread(self, green_speed_ft: float, slope_pct: float, green_error: float) -> float:
        """Standard deviation of the log launch speed needed, from an unsure green speed."""
        moved = deceleration_m_s2(green_speed_ft) / line_deceleration_m_s2(green_speed_ft, slope_pct)
        shared = (
            self.one_green
            and self.green_speed_ft is not None
            and abs(self.green_speed_ft / green_speed_ft - 1.0) < 0.01
        )
        return 0.5 * green_error / 1.645 * abs(moved - (1.0 if shared else 0.0))


def fit(putts: Sequence[Putt], launch: Launch = DEFAULT_LAUNCH) -> DistanceModel:
    """The scale from a player's putts, the last `LAST_PUTTS` of them; with none it is the published strokes' own.

    Raises RunawayError for a putt that the model cannot hold.
    """
    first = max(len(putts) - LAST_PUTTS, 0)
    used = putts[first:]
    log_length = np.log(np.array([p.back_cm for p in used], dtype=np.float64))
    bounds = np.array([log_speed_bounds(p, launch) for p in used], dtype=np.float64).reshape(len(used), 2)
    # At the middle of the lengths level and exponent are told apart best.
    reference = float(np.median(log_length)) if len(used) else math.log(TOUR_BACK_CM.mean)
    away = reference - math.log(TOUR_BACK_CM.mean)
    prior = Prior(
        (
            math.log(_PRIOR_SPEED_M_S) + _EXPONENT_PRIOR[0] * away,
            math.hypot(_SPEED_PRIOR_SD, _EXPONENT_PRIOR[1] * away),
        ),
        _EXPONENT_PRIOR,
        _NOISE_PRIOR,
        _BEND_PRIOR,
    )
    x = log_length - reference
    law = posterior(x, bounds[:, 0], bounds[:, 1], prior)
    reference_cm = math.exp(reference)
    speed = _exp(_quantiles(law.nodes[:, 0], law.weights, LEVEL))
    exponent = _quantiles(law.nodes[:, 1], law.weights, LEVEL)
    noise = _quantiles(2.0 * law.nodes[:, 2], law.weights, LEVEL)
    bent = float(law.weights @ law.nodes[:, 3])
    miss = (bounds.mean(axis=1) - math.log(speed.value) - exponent.value * x - bent * bend(x)) * 2.0
    width = np.hypot(noise.value, (bounds[:, 1] - bounds[:, 0]) / math.sqrt(3.0))
    mishits = tuple(first + int(i) for i in np.flatnonzero(np.abs(miss) > 3.5 * width))
    speed_ft = float(np.median([p.green_speed_ft for p in used])) if used else None
    return DistanceModel(
        reference_cm,
        speed,
        exponent,
        noise,
        len(used),
        mishits,
        speed_ft,
        speed_ft is not None and all(abs(p.green_speed_ft / speed_ft - 1.0) < 0.01 for p in used),
        _reach(np.delete(bounds, [i - first for i in mishits], axis=0), speed_ft, launch),
        launch,
        law,
    )


def _reach(bounds: Floats, green_speed_ft: float | None, launch: Launch) -> tuple[float, float] | None:
    if green_speed_ft is None or not len(bounds):
        return None
    run = run_per_speed_squared(green_speed_ft, 0.0, launch)
    middle = np.exp(bounds.sum(axis=1)) * run
    return float(middle.min()), float(middle.max())


def _quantiles(values: Floats, weights: Floats, level: float) -> Estimate:
    """Weighted median and the central interval."""
    order = np.argsort(values)
    sums = np.cumsum(weights[order])
    wanted = (0.5, 0.5 - level / 2.0, 0.5 + level / 2.0)
    middle, low, high = np.interp(wanted, sums - weights[order] / 2.0, values[order])
    return Estimate(float(middle), float(low), float(high))


def _exp(log: Estimate, times: float = 1.0) -> Estimate:
    return Estimate(*(times * math.exp(v) for v in (log.value, log.low, log.high)))
