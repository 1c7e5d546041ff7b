"""Metres or feet: chosen once, always printed. Inside everything is metres."""

from __future__ import annotations

from typing import Literal, get_args

from trainer.errors import UsageError
from trainer.texts import tr

FOOT_M = 0.3048
Unit = Literal["m", "ft"]
UNITS: tuple[Unit, ...] = get_args(Unit)
METRES_PER: dict[str, float] = {"m": 1.0, "ft": FOOT_M}


def unit_named(name: str) -> Unit:
    """ "m" or "ft" from what a user wrote. Raises UsageError."""
    for unit in UNITS:
        if name == unit:
            return unit
    raise UsageError(tr("the unit of distance must be m or ft, not {name!r}", name=name), "unit")


def to_m(value: float, unit: Unit) -> float:
    """A distance in the chosen unit -> m."""
    return value * METRES_PER[unit]


def from_m(distance_m: float, unit: Unit) -> float:
    """m -> the chosen unit."""
    return distance_m / METRES_PER[unit]


def shown(distance_m: float, unit: Unit, digits: int | None = None) -> str:
    """With its unit. digits: decimals; None: 2 for metres, 1 for feet."""
    digits = {"m": 2, "ft": 1}[unit] if digits is None else digits
    return tr("{from_m:.{digits}f} {unit}", digits=digits, from_m=from_m(distance_m, unit), unit=unit)


def unit_words(unit: str) -> str:
    """A measure's unit as it is read."""
    return tr("deg") if unit == "deg" else unit
