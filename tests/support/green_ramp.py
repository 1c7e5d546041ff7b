"""What follows from the model of the roll and is published, for the tests that hold the model to it."""

from __future__ import annotations

import math

from trainer.coaching.distance import roll
from trainer.domain.units import FOOT_M


def rolling_coefficient(green_speed_ft: float) -> float:
    """Penner's rho, with a = (5/7) rho g: 0.783/S."""
    return roll.deceleration_m_s2(green_speed_ft) / (roll.ROLLING_SHARE * roll.GRAVITY_M_S2)


def green_speed_on_slope_ft(green_speed_ft: float, slope_pct: float) -> float:
    """What the usual ramp would read up (+) or down (-) a slope of a green whose level reading is ``green_speed_ft``."""
    deceleration = roll.line_deceleration_m_s2(green_speed_ft, slope_pct)
    return roll.RELEASE_SPEED_M_S**2 / (2.0 * deceleration) / FOOT_M


def rolling_speed_m_s(distance_m: float, deceleration_m_s2: float) -> float:
    """Speed of a ball already rolling that stops after ``distance_m``: sqrt(2 a d)."""
    return math.sqrt(2.0 * deceleration_m_s2 * distance_m)
