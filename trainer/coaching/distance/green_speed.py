"""Measuring a green: by readings of the usual ramp both ways, or from putts whose ball speed and roll-out are known; and its
slope.

Every result carries a band, 90 % by default; where it comes from is in `Green.source`.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.distance.checks import BALL_SPEED, GREEN_SPEED, LEVEL, ROLLED, SLOPE, SLOPE_DEG, in_range
from trainer.coaching.distance.roll import GRAVITY_M_S2 as G
from trainer.coaching.distance.roll import (
    ROLLING_SHARE,
    deceleration_m_s2,
    green_speed_from_deceleration_ft,
    level_green_speed_ft,
    slope_pull_m_s2,
)
from trainer.coaching.distance.skid import DEFAULT_LAUNCH, ROLLING, Launch, run_per_speed_squared, skid
from trainer.domain.units import FOOT_M
from trainer.errors import UsageError
from trainer.texts import Text, tr, tr_count

# USGA Stimpmeter booklet, as copied by others: three balls each way within 8 in; the two means within 18 in.
BALLS_EACH_WAY = 3
SAME_WAY_M = 8 * 0.0254
BOTH_WAYS_M = 18 * 0.0254
# What a camera's ball speed is good for at 30 frames/s, and how far the launch spin of one player and putter may lie
# from the calibrated value: both our estimates, the second from the range that fits published strokes.
BALL_SPEED_ERROR = 0.04
SPIN_ERROR = 0.15


@dataclass(frozen=True, slots=True)
class Green:
    """Green speed in feet, as the course's sign says, with its band. slope_pct: of the line it was measured on, None: not
    known.
    """

    green_speed_ft: float
    low_ft: float
    high_ft: float
    source: str
    slope_pct: float | None = None
    warnings: tuple[str, ...] = ()

    @property
    def source_words(self) -> str:
        """As it is told: the record keeps it in English."""
        return Text(self.source)

    @property
    def relative_error(self) -> float:
        """Half the band over the value."""
        return (self.high_ft - self.low_ft) / (2.0 * self.green_speed_ft)


@dataclass(frozen=True, slots=True)
class RolledPutt:
    """A putt for measuring the green. ball_speed_m_s: at launch; slope_pct: + uphill; rounded_to_m: as it was
    measured.
    """

    ball_speed_m_s: float
    rolled_m: float
    slope_pct: float = 0.0
    rounded_to_m: float = 0.1


def entered_green(green_speed_ft: float, error_ft: float = 0.5) -> Green:
    """A reading taken from a sign or from the greenkeeper. error_ft: half a foot is our guess of what such a number
    means.
    """
    value = in_range(green_speed_ft, GREEN_SPEED)
    return Green(value, max(value - error_ft, 1.0), value + error_ft, tr("entered"))


def ramp_green(one_way_m: Sequence[float], other_way_m: Sequence[float], sloped: bool = False) -> Green:
    """Three balls each way, in m. sloped: the line is known to slope, so Brede's correction replaces the 18 in rule.

    Raises UsageError, with the rule that is broken.
    """
    ways = (_one_way(one_way_m, tr("first direction")), _one_way(other_way_m, tr("second direction")))
    first, second = (statistics.fmean(way) / FOOT_M for way in ways)
    differ_m = abs(first - second) * FOOT_M
    if differ_m > BOTH_WAYS_M + 1e-9 and not sloped:
        raise UsageError(
            tr(
                "the two directions differ by {differ_m:.2f} m ({differ_m2:.1f} ft)",
                differ_m=differ_m,
                differ_m2=differ_m / FOOT_M,
            ),
            tr("the ramp's readings"),
            tr(
                "allowed: {both_ways_m:.3f} m (18 in); find a flatter place, or say that the line slopes",
                both_ways_m=BOTH_WAYS_M,
            ),
        )
    pooled_m = math.sqrt(sum(statistics.variance(way) for way in ways) / 2.0)
    # Reading the tape to a centimetre bounds the spread from below. Student's t for 4 degrees of freedom.
    error_ft = 2.132 * math.hypot(pooled_m, 0.01) / math.sqrt(2 * BALLS_EACH_WAY) / FOOT_M
    value = level_green_speed_ft(first, second) if sloped else (first + second) / 2.0
    in_range(value, GREEN_SPEED)
    # The plain mean of a sloping line reads high by (difference / 2)^2 / mean: that belongs to its band.
    excess_ft = 0.0 if sloped else value - level_green_speed_ft(first, second)
    slope = abs(slope_from_readings_pct(max(first, second), min(first, second)))
    source = tr("the usual ramp both ways, slope taken out") if sloped else tr("the usual ramp both ways")
    return Green(value, value - error_ft - excess_ft, value + error_ft, source, slope)


def _one_way(readings_m: Sequence[float], where: str) -> list[float]:
    if len(readings_m) != BALLS_EACH_WAY:
        raise UsageError(
            tr("{number} readings", number=len(readings_m)),
            where,
            tr("roll {balls_each_way} balls each way", balls_each_way=BALLS_EACH_WAY),
        )
    found = [in_range(reading, ROLLED) for reading in readings_m]
    spread_m = max(found) - min(found)
    if spread_m > SAME_WAY_M + 1e-9:
        raise UsageError(
            tr("the three balls differ by {spread_m:.2f} m", spread_m=spread_m),
            where,
            tr("allowed: {same_way_m:.3f} m (8 in); roll them again", same_way_m=SAME_WAY_M),
        )
    return found


def slope_from_readings_pct(down_ft: float, up_ft: float) -> float:
    """Slope of the line from the ramp's readings down and up it (Brede's argument turned round): positive."""
    pull = (deceleration_m_s2(up_ft) - deceleration_m_s2(down_ft)) / 2.0
    return _slope_of_pull_pct(pull)


def slope_from_rolls_pct(down_m: float, up_m: float, green_speed_ft: float, launch: Launch = ROLLING) -> float:
    """Slope from one ball sent both ways at the same speed, from any ramp: positive. Raises UsageError.

    launch: ROLLING for a ball from a ramp; a player's own for putts of the same ball speed.
    """
    from scipy.optimize import brentq

    in_range(down_m, ROLLED), in_range(up_m, ROLLED)
    if down_m < up_m:
        raise UsageError(
            tr("{down_m:g} m down is less than {up_m:g} m up", down_m=down_m, up_m=up_m),
            tr("rolls both ways"),
            tr("give the longer roll as down"),
        )

    def miss(slope_pct: float) -> float:
        both = (run_per_speed_squared(green_speed_ft, sign * slope_pct, launch) for sign in (-1.0, 1.0))
        longer, shorter = both
        return math.log(longer / shorter) - math.log(down_m / up_m)

    steepest = _slope_of_pull_pct(deceleration_m_s2(green_speed_ft) * 0.999)
    if miss(steepest) < 0.0:
        raise UsageError(
            tr("the two rolls differ too much for any slope"), tr("rolls both ways"), tr("measure them again")
        )
    return in_range(float(brentq(miss, 0.0, steepest)), SLOPE)


def slope_from_level_pct(degrees: float) -> float:
    """Slope from a level (a phone laid on the green): 100 tan(degrees); + uphill."""
    return 100.0 * math.tan(math.radians(in_range(degrees, SLOPE_DEG)))


def _slope_of_pull_pct(pull_m_s2: float) -> float:
    return 100.0 * math.tan(math.asin(min(1.0, pull_m_s2 / (ROLLING_SHARE * G))))


def green_from_putts(putts: Sequence[RolledPutt], launch: Launch = DEFAULT_LAUNCH, level: float = LEVEL) -> Green:
    """Green speed from ball speeds and roll-outs: the middle of the putts' own values, with a band at ``level``.

    The band adds what the putts differ by, the reading of each roll-out, the camera's ball speed and, the larger
    part, how far the launch spin may be off; the last two do not shrink with more putts. Raises UsageError when a
    putt fits no green.
    """
    if not putts:
        raise UsageError(
            tr("no putts"), tr("green speed"), tr("give the ball speed and roll-out of at least one, better five")
        )
    each = [green_speed_of_putt_ft(putt, launch) for putt in putts]
    value = statistics.median(each)
    in_range(value, GREEN_SPEED)
    spread = statistics.stdev(each) / value if len(each) > 1 else 0.10
    rounding = statistics.fmean((p.rounded_to_m / math.sqrt(12.0) / p.rolled_m) for p in putts)
    own = (
        math.hypot(spread, rounding) / math.sqrt(len(each)) * math.sqrt(math.pi / 2.0)
    )  # a median is less sure than a mean
    bump = 1e-3
    faster = [RolledPutt(p.ball_speed_m_s * (1 + bump), p.rolled_m, p.slope_pct, p.rounded_to_m) for p in putts]
    by_speed = (statistics.median(green_speed_of_putt_ft(p, launch) for p in faster) / value - 1.0) / bump
    spun = Launch(launch.spin - bump, launch.friction)
    by_spin = (statistics.median(green_speed_of_putt_ft(p, spun) for p in putts) / value - 1.0) / bump
    spin_error = 0.0 if launch == ROLLING else SPIN_ERROR
    one_sd = math.sqrt(own**2 + (by_speed * BALL_SPEED_ERROR) ** 2 + (by_spin * spin_error) ** 2)
    half = math.exp(statistics.NormalDist().inv_cdf(0.5 + level / 2.0) * one_sd)
    warnings = []
    if len(each) < 5:
        warnings.append(
            tr_count(
                "from {count} putt: five or more give a steadier value",
                "from {count} putts: five or more give a steadier value",
                len(each),
            )
        )
    if max(each) / min(each) > 1.4:
        warnings.append(tr("the putts disagree by more than 40 %: check the distances and the slope"))
    return Green(value, value / half, value * half, tr("ball speed and roll-out"), None, tuple(warnings))


def green_speed_of_putt_ft(putt: RolledPutt, launch: Launch = DEFAULT_LAUNCH) -> float:
    """The green on which a ball of that speed runs that far. Raises UsageError when none does."""
    speed = in_range(putt.ball_speed_m_s, BALL_SPEED)
    rolled = in_range(putt.rolled_m, ROLLED)
    slide = skid(speed, launch, in_range(putt.slope_pct, SLOPE))
    left_m = rolled - slide.length_m
    slowing = slide.roll_m_s**2 / (2.0 * left_m) - slope_pull_m_s2(putt.slope_pct) if left_m > 0.0 else -1.0
    if slowing <= 0.0:
        raise UsageError(
            tr("a ball of {speed:g} m/s does not run {rolled:g} m on any green", speed=speed, rolled=rolled),
            "putt",
            tr("check speed, distance and slope"),
        )
    return green_speed_from_deceleration_ft(slowing)
