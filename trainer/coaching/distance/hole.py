"""The hole: how fast a ball may come, how far off centre, and how narrow it looks from away."""

from __future__ import annotations

import math

from trainer.coaching.distance.equipment import BALL_RADIUS_M, HOLE_RADIUS_M
from trainer.coaching.distance.roll import GRAVITY_M_S2, line_deceleration_m_s2, rolling_speed_m_s

# B. W. Holmes, "Putting: how a golf ball and hole interact", Am. J. Phys. 59, 1991 (as others quote it): dead centre.
CAPTURE_SPEED_M_S = 1.63
# A finish this far past an open hole (trade wisdom; used as the usual aim).
PAST_THE_HOLE_M = 0.43
# J. Karlsen, G. Smith and J. Nilsson, J. Sports Sci. 26(3), 2008 (number from memory): elite players.
ELITE_DIRECTION_SD_DEG = 0.39


def flight_capture_speed_m_s(hole_radius_m: float = HOLE_RADIUS_M, ball_radius_m: float = BALL_RADIUS_M) -> float:
    """Simple bound, dead centre, no bounce: the ball falls one radius before the far rim. 1.314 m/s."""
    return (2.0 * hole_radius_m - ball_radius_m) * math.sqrt(GRAVITY_M_S2 / (2.0 * ball_radius_m))


def capture_speed_m_s(offset_m: float, hole_radius_m: float = HOLE_RADIUS_M) -> float:
    """Fastest ball that drops when its centre passes ``offset_m`` from the hole's: 1.63 (1 - (offset/R)^2).

    Penner 2002; the form is from memory. 0 at the rim and beyond.
    """
    return CAPTURE_SPEED_M_S * max(0.0, 1.0 - (offset_m / hole_radius_m) ** 2)


def speed_at_hole_m_s(past_m: float, green_speed_ft: float, slope_pct: float = 0.0) -> float:
    """Speed over the hole of a ball that would stop ``past_m`` beyond it. Raises RunawayError."""
    return rolling_speed_m_s(past_m, line_deceleration_m_s2(green_speed_ft, slope_pct))


def drops(speed_m_s: float, offset_m: float) -> bool:
    """Whether the ball is held; never above the capture speed of a centred ball."""
    return speed_m_s <= capture_speed_m_s(abs(offset_m))


def half_angle_deg(distance_m: float) -> float:
    """From the line to the ball's centre to the hole's rim, seen from the ball: atan(R/d)."""
    return math.degrees(math.atan(HOLE_RADIUS_M / distance_m))


def share_on_line(distance_m: float, direction_sd_deg: float) -> float:
    """Share of putts whose start lies within the hole's width when direction varies normally: 2 Phi(angle/sd) - 1."""
    return math.erf(half_angle_deg(distance_m) / direction_sd_deg / math.sqrt(2.0))
