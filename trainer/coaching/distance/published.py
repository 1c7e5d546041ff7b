"""Published strokes: what a player's scale starts from while their own strokes are few, and what results are seen
beside.

Context, never a target.
"""

from __future__ import annotations

from dataclasses import dataclass

from trainer.coaching.distance.skid import BALL_PUTTER_RATIO, DEFAULT_LAUNCH, Launch, launch_speed_m_s


@dataclass(frozen=True, slots=True)
class Known:
    """Mean and standard deviation over players."""

    mean: float
    sd: float


# 99 male tour players, 13 ft putts, slow to medium greens, 2007 (a summary table; not peer reviewed).
TOUR_DISTANCE_M = 13 * 0.3048
TOUR_BACK_S = Known(0.670, 0.090)
TOUR_BACK_CM = Known(24.1, 3.8)
TOUR_IMPACT_S = Known(0.317, 0.035)
TOUR_IMPACT_M_S = Known(1.510, 0.119)
TOUR_TEMPO = TOUR_BACK_S.mean / TOUR_IMPACT_S.mean

# One tour player at 4 and at 32 ft (R. Mann, as a trade blog sums it up): back, top to impact, whole.
ONE_PRO_S = {4 * 0.3048: (0.62, 0.30, 0.92), 32 * 0.3048: (0.63, 0.29, 0.92)}
SAME_TEMPO_SHARE = 0.02  # the whole differs by less than this over an eightfold distance
ONE_PRO_FOLLOW_RATIO = 2.0  # follow-through over backstroke length

# J. Karlsen and J. Nilsson, Int. J. Sports Sci. Coach. 3, 2008: 43 good players (handicap 2.8 +- 2.2), spread of
# distance.
GOOD_SPREAD_MIXED = 0.106  # 40 putts of 2.2 to 19.3 m
GOOD_SPREAD_REPEATED = 0.068  # the same 6 m putt again and again
GREEN_SPREAD = 0.025
GOOD_SHARES = {"reading": 0.60, "technique": 0.34, "green": 0.06}


def steady_speed_m_s(back_cm: float, to_impact_s: float) -> float:
    """Putter speed at impact from rest at the top under constant acceleration: 2 A / T. Fits the tour's mean stroke
    to 1 %.
    """
    return 2.0 * back_cm / 100.0 / to_impact_s


def putter_speed_m_s(
    distance_m: float, green_speed_ft: float, slope_pct: float = 0.0, launch: Launch = DEFAULT_LAUNCH
) -> float:
    """Putter speed at impact for a distance. Raises RunawayError."""
    return launch_speed_m_s(distance_m, green_speed_ft, slope_pct, launch) / BALL_PUTTER_RATIO


def published_length_cm(
    distance_m: float,
    green_speed_ft: float,
    slope_pct: float = 0.0,
    launch: Launch = DEFAULT_LAUNCH,
    to_impact_s: float = TOUR_IMPACT_S.mean,
) -> float:
    """Backstroke length of the tour's mean rhythm for a distance: A = v T / 2. Raises RunawayError."""
    return 100.0 * putter_speed_m_s(distance_m, green_speed_ft, slope_pct, launch) * to_impact_s / 2.0
