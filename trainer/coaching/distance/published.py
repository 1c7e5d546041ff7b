"""Published strokes: what a player's scale starts from while their own strokes are few, and what results are seen
beside.

Context, never a target.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Known:
    """Mean and standard deviation over players."""

    mean: float
    sd: float


# 99 male tour players, 13 ft putts, slow to medium greens, 2007 (a summary table; not peer reviewed).
TOUR_BACK_CM = Known(24.1, 3.8)
TOUR_IMPACT_S = Known(0.317, 0.035)

# One tour player at 4 and at 32 ft (R. Mann, as a trade blog sums it up): 0.62 s back and 0.30 to impact, 0.63 and 0.29.
SAME_TEMPO_SHARE = 0.02  # the whole differs by less than this over an eightfold distance

# J. Karlsen and J. Nilsson, Int. J. Sports Sci. Coach. 3, 2008: 43 good players (handicap 2.8 +- 2.2), spread of
# distance.
GOOD_SPREAD_MIXED = 0.106  # 40 putts of 2.2 to 19.3 m
GOOD_SPREAD_REPEATED = 0.068  # the same 6 m putt again and again


def steady_speed_m_s(back_cm: float, to_impact_s: float) -> float:
    """Putter speed at impact from rest at the top under constant acceleration: 2 A / T. Fits the tour's mean stroke
    to 1 %.
    """
    return 2.0 * back_cm / 100.0 / to_impact_s
