"""A ball that rolls: green speed to deceleration, slope along the line, speeds, distances and times.

The green slows the ball by a constant amount (coefficient of rolling friction, Penner 2002). On a slope a rolling
solid sphere feels 5/7 of gravity's pull along the line, because 2/7 of it goes into spin.
"""

from __future__ import annotations

import math

from trainer.domain.units import FOOT_M
from trainer.errors import UsageError
from trainer.texts import tr

# m/s^2; 9.78 at the equator to 9.83 at the poles, which moves a distance on a slope by less than 0.3 %.
GRAVITY_M_S2 = 9.81
# Speed of a ball at the foot of the usual ramp: 6.00 ft/s (attributed to Penner, "The physics of putting", Can.
# J. Phys. 80, 2002). A classroom sheet has 6.4 ft/s, which would make every deceleration 13.8 % larger.
RELEASE_SPEED_M_S = 6.00 * FOOT_M
ROLLING_SHARE = 5.0 / 7.0  # mass over (mass + inertia / radius^2) of a solid sphere


class RunawayError(UsageError):
    """The model has no answer: on this slope the ball gains speed and does not stop."""


def deceleration_m_s2(green_speed_ft: float, release_m_s: float = RELEASE_SPEED_M_S) -> float:
    """a = v0^2 / (2 S) on the level: 5.486/S with S in feet."""
    return release_m_s**2 / (2.0 * FOOT_M * green_speed_ft)


def green_speed_from_deceleration_ft(deceleration: float, release_m_s: float = RELEASE_SPEED_M_S) -> float:
    """The reverse of `deceleration_m_s2`."""
    return release_m_s**2 / (2.0 * FOOT_M * deceleration)


def slope_angle_rad(slope_pct: float) -> float:
    """tan(angle) = per cent / 100."""
    return math.atan(slope_pct / 100.0)


def slope_pull_m_s2(slope_pct: float) -> float:
    """(5/7) g sin(angle): what a slope adds to the deceleration of a rolling ball; + uphill."""
    return ROLLING_SHARE * GRAVITY_M_S2 * math.sin(slope_angle_rad(slope_pct))


def line_deceleration_m_s2(green_speed_ft: float, slope_pct: float = 0.0) -> float:
    """Deceleration straight up or down a slope. Raises RunawayError where the ball would not slow down."""
    found = deceleration_m_s2(green_speed_ft) + slope_pull_m_s2(slope_pct)
    if found <= 0.0:
        raise RunawayError(
            tr(
                "a ball does not stop on {slope_pct:.3g} % downhill at green speed {green_speed_ft:g} ft",
                slope_pct=-slope_pct,
                green_speed_ft=green_speed_ft,
            ),
            "slope",
            tr(
                "the model stops at {runaway_slope_pct:.1f} %, real balls well before",
                runaway_slope_pct=runaway_slope_pct(green_speed_ft),
            ),
        )
    return found


def runaway_slope_pct(green_speed_ft: float) -> float:
    """The downhill slope, per cent, on which the model's ball just keeps its speed. With sin for tan: off by under 1
    %.
    """
    share = deceleration_m_s2(green_speed_ft) / (ROLLING_SHARE * GRAVITY_M_S2)
    return 100.0 * math.tan(math.asin(min(share, 1.0)))


def level_equivalent_m(distance_m: float, green_speed_ft: float, slope_pct: float) -> float:
    """How long a level putt of the same speed would be: d (a +- b) / a."""
    return distance_m * line_deceleration_m_s2(green_speed_ft, slope_pct) / deceleration_m_s2(green_speed_ft)


def level_green_speed_ft(up_ft: float, down_ft: float) -> float:
    """Slope-corrected reading, 2 up down / (up + down): A. D. Brede, USGA Green Section Record 28(6), 1990, 10-12."""
    return 2.0 * up_ft * down_ft / (up_ft + down_ft)
