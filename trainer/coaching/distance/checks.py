"""What may be entered: each thing's range, and the look of feet given for metres. One line, nothing goes on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.domain.units import FOOT_M, Unit, from_m
from trainer.errors import UsageError
from trainer.texts import tr

LEVEL = 0.90  # of every band that is told, unless said otherwise


@dataclass(frozen=True, slots=True)
class Range:
    """low..high of a thing in its unit. Distances are in m and shown in the unit the player chose."""

    name: str
    low: float
    high: float
    unit: str


# The slowest green in print is 4 ft (Penner's range); 14 ft is tournament speed; hard carpets roll on a little further.
GREEN_SPEED = Range(tr("green speed"), 4.0, 16.0, "ft")
SLOPE = Range(tr("slope"), -8.0, 8.0, tr("% (+ uphill)"))  # at 8 % no ball stops on a 10 ft green
SLOPE_DEG = Range(tr("slope"), -4.57, 4.57, tr("deg (+ uphill)"))  # the same as 8 %
PUTT = Range(tr("distance"), 0.3, 30.0, "m")
ROLLED = Range(tr("roll-out"), 0.1, 40.0, "m")
BACKSTROKE = Range(tr("backstroke length"), 2.0, 120.0, "cm")
BACK_TIME = Range(tr("backstroke time"), 0.2, 2.5, "s")
IMPACT_TIME = Range(tr("time from top to impact"), 0.1, 1.2, "s")
BALL_SPEED = Range(tr("ball speed"), 0.2, 8.0, "m/s")
ROUNDED = Range(tr("rounding"), 0.0, 1.5, "m")
FOOT_PLACE = Range(tr("distance from ball to trail foot"), 5.0, 60.0, "cm")

# Who enters feet where metres are meant is out by 3.28; 2.3 to 4.7 is nearer to that than to an ordinary miss.
_LIKE_FEET = (2.3, 4.7)
# Closer than this, running 2.3 times the distance is an ordinary miss.
_SHORT_TARGET_M = 1.5


def number(value: object, what: Range) -> float:
    """A finite number, or UsageError."""
    if value is None:
        raise UsageError(tr("{name} is missing", name=what.name), what.name, _allowed(what))
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise UsageError(tr("must be a number, not {value!r}", value=value), what.name, _allowed(what))
    return float(value)


def in_range(value: object, what: Range, unit: Unit = "m") -> float:
    """The number, checked. unit: in which a distance's range is given. Raises UsageError."""
    found = number(value, what)
    if what.low <= found <= what.high:
        return found
    hint = ""
    if what is GREEN_SPEED and what.low <= found / FOOT_M <= what.high:
        hint = tr("; by the look of it metres: {found:g} m is {found2:.1f} ft", found=found, found2=found / FOOT_M)
    elif what.unit == "m" and found > what.high and found * FOOT_M <= what.high and unit == "m":
        hint = tr("; by the look of it feet: {found:g} ft is {found2:.1f} m", found=found, found2=found * FOOT_M)
    elif what is BACKSTROKE and 0.0 < found < 1.2:
        hint = tr("; by the look of it metres")
    shown = _in_unit(found, what, unit)
    raise UsageError(
        tr("{shown} cannot be", shown=shown), what.name, tr("{allowed}{hint}", allowed=_allowed(what, unit), hint=hint)
    )


def like_the_target(rolled_m: float, target_m: float, unit: Unit, where: str = ROLLED.name) -> None:
    """Raises UsageError when a roll-out differs from its target as feet from metres do."""
    if target_m < _SHORT_TARGET_M:
        return
    ratio = rolled_m / target_m
    low, high = _LIKE_FEET
    if unit == "m" and low <= ratio <= high:
        other = tr(
            "feet given for metres ({rolled_m:g} ft is {rolled_m2:.1f} m)",
            rolled_m=rolled_m,
            rolled_m2=rolled_m * FOOT_M,
        )
    elif unit == "ft" and low <= 1.0 / ratio <= high:
        feet = rolled_m / FOOT_M  # the number as entered
        other = tr("metres given for feet ({feet:g} m is {feet2:.1f} ft)", feet=feet, feet2=feet / FOOT_M)
    else:
        return
    given = tr(
        "{from_m:g} {unit} for a target of {from_m2:g} {unit}",
        from_m=from_m(rolled_m, unit),
        unit=unit,
        from_m2=from_m(target_m, unit),
    )
    raise UsageError(
        tr("{given}: by the look of it {other}", given=given, other=other), where, tr("if it is so, say --sure")
    )


def _in_unit(value: float, what: Range, unit: Unit) -> str:
    if what.unit == "m":
        return tr("{from_m:.4g} {unit}", from_m=from_m(value, unit), unit=unit)
    return tr("{value:.4g} {split}", value=value, split=what.unit.split(" ")[0])


def _allowed(what: Range, unit: Unit = "m") -> str:
    if what.unit == "m":
        return tr(
            "allowed: {from_m:.3g} to {from_m2:.3g} {unit}",
            from_m=from_m(what.low, unit),
            from_m2=from_m(what.high, unit),
            unit=unit,
        )
    return tr("allowed: {low:g} to {high:g} {unit}", low=what.low, high=what.high, unit=what.unit)
