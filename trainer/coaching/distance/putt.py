"""One putt as the scale sees it: the stroke's length and times, the ball's speed and how far it ran, and where."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from trainer.coaching.distance.checks import (
    BACK_TIME,
    BACKSTROKE,
    BALL_SPEED,
    GREEN_SPEED,
    IMPACT_TIME,
    PUTT,
    ROLLED,
    ROUNDED,
    SLOPE,
    in_range,
    like_the_target,
)
from trainer.coaching.distance.skid import DEFAULT_LAUNCH, Launch, run_per_speed_squared
from trainer.domain.units import Unit, from_m
from trainer.texts import tr

Guess = Literal["short", "right", "long"]


@dataclass(frozen=True, slots=True)
class Putt:
    """back_cm: from address to top; rolled_m: whole way of the ball, known to ``rounded_to_m`` (paced: half a metre
    or so).

    slope_pct: + uphill. target_m: where it was meant to stop. None: not seen, or not given. estimated: rolled_m is what
    the ball's speed gives, not a way that was measured. guess: what the player said of it before he was told, None: nothing.
    """

    back_cm: float
    rolled_m: float
    green_speed_ft: float
    slope_pct: float = 0.0
    target_m: float | None = None
    back_s: float | None = None
    to_impact_s: float | None = None
    ball_speed_m_s: float | None = None
    rounded_to_m: float = 0.1
    estimated: bool = False
    guess: Guess | None = None


def checked(putt: Putt, unit: Unit, sure: bool = False) -> Putt:
    """The putt itself when every number can be. Raises UsageError or RunawayError: nothing may be kept then.

    unit: in which distances were entered; sure: the player insists on a roll-out far from its target.
    """
    in_range(putt.back_cm, BACKSTROKE)
    in_range(putt.rolled_m, ROLLED, unit)
    in_range(putt.green_speed_ft, GREEN_SPEED)
    in_range(putt.slope_pct, SLOPE)
    in_range(putt.rounded_to_m, ROUNDED, unit)
    run_per_speed_squared(putt.green_speed_ft, putt.slope_pct)
    for value, what in (
        (putt.back_s, BACK_TIME),
        (putt.to_impact_s, IMPACT_TIME),
        (putt.ball_speed_m_s, BALL_SPEED),
    ):
        if value is not None:
            in_range(value, what)
    if putt.target_m is not None:
        in_range(putt.target_m, PUTT, unit)
        if not sure:
            like_the_target(putt.rolled_m, putt.target_m, unit)
    return putt


def log_speed_bounds(putt: Putt, launch: Launch = DEFAULT_LAUNCH) -> tuple[float, float]:
    """Log of the launch speed (m/s) between which the ball's lay, from the roll-out and how it was rounded.

    Raises RunawayError. At least a centimetre wide: nobody measures a roll-out better.
    """
    run = run_per_speed_squared(putt.green_speed_ft, putt.slope_pct, launch)
    half = max(putt.rounded_to_m, 0.01) / 2.0
    low = max(putt.rolled_m - half, putt.rolled_m * 0.02, 0.005)
    return 0.5 * math.log(low / run), 0.5 * math.log((putt.rolled_m + half) / run)


def putt_words(putt: Putt, unit: Unit) -> str:
    """In words, with units."""
    aim = "" if putt.target_m is None else tr(" for {from_m:.1f} {unit}", from_m=from_m(putt.target_m, unit), unit=unit)
    how = tr(" by its speed") if putt.estimated else ""
    return tr(
        "{back_cm:.0f} cm back, ran {from_m:.1f} {unit}{how}{aim}",
        back_cm=putt.back_cm,
        from_m=from_m(putt.rolled_m, unit),
        unit=unit,
        how=how,
        aim=aim,
    )
