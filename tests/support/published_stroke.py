"""The tour's mean stroke at any distance, as the model of the roll makes it: what the player's own law begins with."""

from __future__ import annotations

from trainer.coaching.distance.published import TOUR_IMPACT_S
from trainer.coaching.distance.skid import BALL_PUTTER_RATIO, DEFAULT_LAUNCH, Launch, launch_speed_m_s


def putter_speed_m_s(
    distance_m: float, green_speed_ft: float, slope_pct: float = 0.0, launch: Launch = DEFAULT_LAUNCH
) -> float:
    """At impact, for a distance. Raises RunawayError."""
    return launch_speed_m_s(distance_m, green_speed_ft, slope_pct, launch) / BALL_PUTTER_RATIO


def published_length_cm(
    distance_m: float,
    green_speed_ft: float,
    slope_pct: float = 0.0,
    launch: Launch = DEFAULT_LAUNCH,
    to_impact_s: float = TOUR_IMPACT_S.mean,
) -> float:
    """Backstroke length in the tour's mean rhythm: A = v T / 2."""
    return 100.0 * putter_speed_m_s(distance_m, green_speed_ft, slope_pct, launch) * to_impact_s / 2.0
