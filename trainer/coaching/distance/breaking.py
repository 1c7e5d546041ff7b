"""Break: the path of a rolling ball over an even slope that falls across the line, by integration.

Taken as rolling from the start (its skid is short and nearly straight). The path is found backwards from the hole,
where speed and place are known, so that only one number, the direction at the hole, is searched for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.coaching.distance.hole import PAST_THE_HOLE_M, speed_at_hole_m_s
from trainer.coaching.distance.model_validity import ModelValidity, model_validity
from trainer.coaching.distance.roll import GRAVITY_M_S2 as G
from trainer.coaching.distance.roll import ROLLING_SHARE, deceleration_m_s2, slope_angle_rad
from trainer.errors import UsageError

Floats = npt.NDArray[np.float64]
_SLOWEST_M_S = 0.02  # the direction of a ball at rest is not defined
_STEEPEST_DEG = 80.0


@dataclass(frozen=True)
class Break:
    """aim_m: where to aim, beside the hole at its distance, + to the left; start_deg: the same as an angle.

    start_m_s: rolling speed at the start; time_s to the hole; path_m: (n, 2) along the line, and + left of it.
    """

    aim_m: float
    start_deg: float
    start_m_s: float
    time_s: float
    path_m: Floats
    model_validity: ModelValidity


def slope_pull(rise_along_pct: float, rise_left_pct: float) -> tuple[float, float]:
    """Acceleration of a rolling ball by the slope, along the line and to the left, m/s^2: 5/7 g sin, downhill."""
    steep_pct = math.hypot(rise_along_pct, rise_left_pct)
    if steep_pct == 0.0:
        return 0.0, 0.0
    pull = -ROLLING_SHARE * G * math.sin(slope_angle_rad(steep_pct)) / steep_pct
    return pull * rise_along_pct, pull * rise_left_pct


def break_of(
    distance_m: float,
    green_speed_ft: float,
    fall_right_pct: float,
    slope_pct: float = 0.0,
    past_m: float = PAST_THE_HOLE_M,
) -> Break:
    """The aim for a putt over a plane that falls ``fall_right_pct`` to the right and rises ``slope_pct`` along the
    line.

    past_m: how far past an open hole the ball would run. Raises RunawayError where it would not stop, UsageError
    where no line leads to the hole at that speed.
    """
    from scipy.integrate import solve_ivp
    from scipy.optimize import brentq

    friction = deceleration_m_s2(green_speed_ft)
    end_m_s = max(speed_at_hole_m_s(past_m, green_speed_ft, slope_pct), _SLOWEST_M_S)
    pull_x, pull_y = slope_pull(slope_pct, fall_right_pct)

    def back(_: float, state: Floats) -> list[float]:
        _x, _y, vx, vy = state
        speed = math.hypot(vx, vy)
        return [-vx, -vy, friction * vx / speed - pull_x, friction * vy / speed - pull_y]

    def at_ball(_: float, state: Floats) -> float:
        return float(state[0])

    def turned(_: float, state: Floats) -> float:
        return float(state[2]) - 1e-3

    at_ball.terminal = turned.terminal = True  # type: ignore[attr-defined]
    longest_s = 4.0 * (1.0 + distance_m / end_m_s)

    def solved(end_deg: float) -> Floats:
        """(5, n): time back from the hole, x, y, vx, vy."""
        angle = math.radians(end_deg)
        start = [distance_m, 0.0, end_m_s * math.cos(angle), end_m_s * math.sin(angle)]
        found = solve_ivp(back, (0.0, longest_s), start, events=(at_ball, turned), rtol=1e-7, atol=1e-9)
        return np.vstack([found.t, found.y])

    def miss(end_deg: float) -> float:
        path = solved(end_deg)
        return float(path[2, -1]) if path[1, -1] <= 1e-6 else math.copysign(distance_m, -end_deg)

    try:
        end_deg = float(brentq(miss, -_STEEPEST_DEG, _STEEPEST_DEG, xtol=1e-9))
    except ValueError:
        end_deg = math.nan
    path = solved(end_deg) if math.isfinite(end_deg) else np.full((5, 1), math.nan)
    if not (path[1, -1] <= 1e-6 and abs(path[2, -1]) < 1e-4):
        raise UsageError("no line leads to the hole at that speed", "slope", "it falls too steeply across the line")
    speed, start_rad = math.hypot(path[3, -1], path[4, -1]), math.atan2(path[4, -1], path[3, -1])
    return Break(
        aim_m=distance_m * math.tan(start_rad),
        start_deg=math.degrees(start_rad),
        start_m_s=speed,
        time_s=float(path[0, -1]),
        path_m=np.ascontiguousarray(path[1:3, ::-1].T),
        model_validity=model_validity(green_speed_ft, -math.hypot(min(slope_pct, 0.0), fall_right_pct)),
    )
