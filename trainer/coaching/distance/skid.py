"""From the putter's face to pure roll: the ball slides first, and how much depends on the spin it starts with.

Launch speed taken for rolling speed overstates the distance by up to 70 %, so the spin at launch is a parameter of
its own. Every length here grows with speed
squared, at any slope.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.coaching.distance.roll import GRAVITY_M_S2, line_deceleration_m_s2, slope_angle_rad

# Speed of the ball over speed of the putter head at impact: Korean J. Appl. Biomech., goal setting in slope putting.
BALL_PUTTER_RATIO = 1.6


@dataclass(frozen=True, slots=True)
class Launch:
    """How a ball leaves the face. spin: surface speed over ball speed, 0 no spin, 1 already rolling; friction: sliding.

    spin 0.5 makes a published tour stroke (13 ft) agree with the model on a 10 ft green: a calibration, no proof.
    friction 0.4 is from memory.
    """

    spin: float = 0.5
    friction: float = 0.4


ROLLING = Launch(spin=1.0)
DEFAULT_LAUNCH = Launch()


@dataclass(frozen=True, slots=True)
class Skid:
    """The sliding part: its length, its duration, and the speed at which the ball then rolls."""

    length_m: float
    time_s: float
    roll_m_s: float


def skid(launch_m_s: float, launch: Launch = DEFAULT_LAUNCH, slope_pct: float = 0.0) -> Skid:
    """Sliding until surface speed and ball speed agree. Level, no spin: x = 12 v^2/(49 mu g), t = 2 v/(7 mu g)."""
    angle = slope_angle_rad(slope_pct)
    grip = launch.friction * math.cos(angle)
    slowing = (grip + math.sin(angle)) * GRAVITY_M_S2
    closing = (3.5 * grip + math.sin(angle)) * GRAVITY_M_S2  # slowing, and spinning up by 5/2 of the friction
    time_s = (1.0 - launch.spin) * launch_m_s / closing
    return Skid(launch_m_s * time_s - slowing * time_s**2 / 2.0, time_s, launch_m_s - slowing * time_s)


def run_per_speed_squared(green_speed_ft: float, slope_pct: float = 0.0, launch: Launch = DEFAULT_LAUNCH) -> float:
    """Whole distance over launch speed squared, s^2/m: skid and roll. Raises RunawayError on too steep a fall."""
    slide = skid(1.0, launch, slope_pct)
    return slide.length_m + slide.roll_m_s**2 / (2.0 * line_deceleration_m_s2(green_speed_ft, slope_pct))


def run_m(launch_m_s: float, green_speed_ft: float, slope_pct: float = 0.0, launch: Launch = DEFAULT_LAUNCH) -> float:
    """How far a ball of this launch speed runs. Raises RunawayError."""
    return launch_m_s**2 * run_per_speed_squared(green_speed_ft, slope_pct, launch)


def launch_speed_m_s(
    distance_m: float, green_speed_ft: float, slope_pct: float = 0.0, launch: Launch = DEFAULT_LAUNCH
) -> float:
    """The reverse of `run_m`."""
    return math.sqrt(distance_m / run_per_speed_squared(green_speed_ft, slope_pct, launch))


def time_over_s(
    launch_m_s: float, over_m: float, green_speed_ft: float, slope_pct: float = 0.0, launch: Launch = DEFAULT_LAUNCH
) -> float | None:
    """Time from impact over the first ``over_m``; None when the ball stops before. Raises RunawayError."""
    slide = skid(launch_m_s, launch, slope_pct)
    if over_m <= slide.length_m:
        angle = slope_angle_rad(slope_pct)
        slowing = (launch.friction * math.cos(angle) + math.sin(angle)) * GRAVITY_M_S2
        left = max(launch_m_s**2 - 2.0 * slowing * over_m, 0.0)
        # The form that stays exact when slowing is near 0 (spin 1 has no skid, so over_m is then 0).
        return 2.0 * over_m / (launch_m_s + math.sqrt(left))
    slowing = line_deceleration_m_s2(green_speed_ft, slope_pct)
    left = slide.roll_m_s**2 - 2.0 * slowing * (over_m - slide.length_m)
    return None if left < 0.0 else slide.time_s + (slide.roll_m_s - math.sqrt(left)) / slowing


def launch_from_mean_speed_m_s(
    mean_m_s: float, over_m: float, green_speed_ft: float, slope_pct: float = 0.0, launch: Launch = DEFAULT_LAUNCH
) -> float | None:
    """Launch speed of a ball whose mean speed over its first ``over_m`` a camera saw; None when it would not get
    there.
    """
    from scipy.optimize import brentq

    def miss(speed: float) -> float:
        time_s = time_over_s(speed, over_m, green_speed_ft, slope_pct, launch)
        return -mean_m_s if time_s is None else over_m / time_s - mean_m_s

    slowest = launch_speed_m_s(over_m, green_speed_ft, slope_pct, launch) * (1.0 + 1e-9)
    fastest = max(slowest, mean_m_s) * 4.0
    if miss(slowest) > 0.0:
        return None
    return float(brentq(miss, slowest, fastest))
