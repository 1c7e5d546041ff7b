"""The green's speed, entered or measured, and slopes."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.app.clock import now
from trainer.app.context import RunContext
from trainer.app.distance.desk import desk, rolled_m
from trainer.coaching.distance.checks import ROLLED, ROUNDED, SLOPE, in_range
from trainer.coaching.distance.green_speed import (
    Green as Green,
)
from trainer.coaching.distance.green_speed import (
    RolledPutt,
    entered_green,
    green_from_putts,
    ramp_green,
    slope_from_level_pct,
    slope_from_rolls_pct,
)
from trainer.coaching.distance.model_validity import model_validity
from trainer.coaching.distance.skid import DEFAULT_LAUNCH, ROLLING
from trainer.domain.units import Unit, to_m
from trainer.errors import UsageError
from trainer.texts import tr


@dataclass(frozen=True, slots=True)
class GreenRequest:
    """One way to say the speed: in feet as on a sign; roll-outs from a ramp both ways; or putts (launch m/s, roll-out).

    Roll-outs and ``rounded`` (to what they were measured) in the player's unit; rolled_ball: the balls rolled from the
    start; sloped: the ramp's line slopes, which is to be taken out.
    """

    green_speed_ft: float | None = None
    one_way: tuple[float, ...] | None = None
    other_way: tuple[float, ...] | None = None
    sloped: bool = False
    putts: tuple[tuple[float, float], ...] = ()
    rolled_ball: bool = False
    rounded: float = 0.1
    slope_pct: float = 0.0

    @property
    def ways(self) -> int:
        """In how many ways the speed is said."""
        ramp = self.one_way is not None or self.other_way is not None
        return (self.green_speed_ft is not None) + ramp + bool(self.putts)


def set_green(context: RunContext, request: GreenRequest) -> Green:
    """Measures or takes the green speed and keeps it. Raises UsageError."""
    if request.ways != 1:
        raise UsageError(
            tr("say the green speed in one way"), "green", tr("SPEED, or --one-way and --other-way, or --putt")
        )
    with desk(context) as at:
        if request.green_speed_ft is not None:
            found = entered_green(request.green_speed_ft)
        elif request.putts:
            found = _from_putts(request, at.player().unit)
        else:
            found = _from_ramp(request, at.player().unit)
        at.recorded.keep_green(at.name, found, now())
    return found


def _from_putts(request: GreenRequest, unit: Unit) -> Green:
    rounded_to_m = in_range(to_m(request.rounded, unit), ROUNDED, unit)
    slope_pct = in_range(request.slope_pct, SLOPE)
    putts = [
        RolledPutt(speed_m_s, in_range(to_m(rolled, unit), ROLLED, unit), slope_pct, rounded_to_m)
        for speed_m_s, rolled in request.putts
    ]
    return green_from_putts(putts, ROLLING if request.rolled_ball else DEFAULT_LAUNCH)


def _from_ramp(request: GreenRequest, unit: Unit) -> Green:
    if request.one_way is None or request.other_way is None:
        raise UsageError(tr("one line wants balls both ways"), "green", tr("give --one-way and --other-way"))
    return ramp_green(rolled_m(request.one_way, unit), rolled_m(request.other_way, unit), request.sloped)


@dataclass(frozen=True, slots=True)
class SlopeRequest:
    """level_deg: as a level on the green shows it; or rolls: (down, up), how far one ball ran, in the player's unit."""

    level_deg: float | None = None
    rolls: tuple[float, ...] | None = None
    rolled_ball: bool = False


@dataclass(frozen=True, slots=True)
class Slope:
    """pct: + uphill; green_speed_ft: that it was worked out with, None: by a level; warning: empty where all is well."""

    pct: float
    green_speed_ft: float | None = None
    warning: str = ""


def slope_of(context: RunContext, request: SlopeRequest) -> Slope:
    """Keeps nothing. Raises UsageError."""
    if (request.level_deg is None) == (request.rolls is None):
        raise UsageError(tr("say the slope in one way"), "slope", tr("--level DEG, or --rolls DOWN,UP"))
    if request.level_deg is not None:
        return Slope(slope_from_level_pct(request.level_deg))
    with desk(context) as at:
        unit, speed_ft = at.player().unit, at.green().green_speed_ft
    down_m, up_m = rolled_m(request.rolls or (), unit)
    found = slope_from_rolls_pct(down_m, up_m, speed_ft, ROLLING if request.rolled_ball else DEFAULT_LAUNCH)
    return Slope(found, speed_ft, model_validity(speed_ft, -found).why)
