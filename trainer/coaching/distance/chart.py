"""The chart: backstroke length for each distance and slope on one green, with bands, and as a mark on the ground.

For practising away from the screen: a player cannot see centimetres, but can feel the putter against the trail foot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, Mapping, Sequence

from trainer.coaching.distance.checks import FOOT_PLACE, PUTT, SLOPE, in_range
from trainer.coaching.distance.distance_model import DistanceModel, Estimate
from trainer.coaching.distance.green_speed import Green
from trainer.coaching.distance.model_validity import Trust, model_validity
from trainer.coaching.distance.roll import level_equivalent_m
from trainer.coaching.posture.body_model import BALL_RADIUS_CM
from trainer.domain.units import Unit, shown, to_m
from trainer.texts import tr, tr_of

DISTANCES: dict[Unit, tuple[float, ...]] = {
    "m": tuple(float(d) for d in range(1, 16)),
    "ft": (3.0, 5.0, 8.0, 10.0, 12.0, 15.0, 18.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0),
}
SLOPES_PCT = (-2.0, -1.0, 0.0, 1.0, 2.0)
# The trail foot's middle behind the ball: a trade summary has the ball 2 in inside the front toe and 10 in from the
# rear one.
TRAIL_FOOT_CM = 25.4
HALF_FOOT_CM = 5.0  # half the width of a shoe: common knowledge, no source
_SAME = 1.02  # nearer than this to the longest or shortest of the player's own putts is not beyond it
_MAX_CM = 100.0  # common practice, no source: beyond this it is no putting stroke


@dataclass(frozen=True, slots=True)
class Cell:
    """length_cm None: nothing is said, ``note`` says why. stop_m: where one such stroke stops (90 %), not the mean.

    outside: beyond the distances that the player's own putts cover.
    """

    length_cm: Estimate | None
    stop_m: Estimate | None
    mark: str
    trust: Trust
    outside: bool
    note: str = ""

    @property
    def flags(self) -> str:
        """ "*" beyond the player's own putts, "?" not to be trusted."""
        return ("*" if self.outside else "") + ("?" if self.trust == "doubtful" else "")


@dataclass(frozen=True)
class Chart:
    """rows[i][j]: distances_m[i] on slopes_pct[j]. notes: warnings that belong under it."""

    distances_m: tuple[float, ...]
    slopes_pct: tuple[float, ...]
    rows: tuple[tuple[Cell, ...], ...]
    green: Green
    unit: Unit
    putts: int
    notes: tuple[str, ...]


def chart(
    scale: DistanceModel,
    green: Green,
    unit: Unit,
    distances: Sequence[float] | None = None,
    slopes_pct: Sequence[float] = SLOPES_PCT,
    trail_foot_cm: float = TRAIL_FOOT_CM,
) -> Chart:
    """distances: in ``unit``; None: 1 to 15 m or 3 to 50 ft. Raises UsageError for what cannot be."""
    in_range(trail_foot_cm, FOOT_PLACE)
    wanted = tuple(in_range(to_m(d, unit), PUTT, unit) for d in (distances or DISTANCES[unit]))
    slopes = tuple(in_range(s, SLOPE) for s in slopes_pct)
    rows = tuple(tuple(cell(scale, green, d, s, trail_foot_cm) for s in slopes) for d in wanted)
    notes = [b.why for b in (model_validity(green.green_speed_ft, s) for s in slopes) if b.why]
    if scale.putts == 0:
        notes.insert(0, tr("no putts of your own yet: these are published strokes of tour players"))
    elif any(c.outside for row in rows for c in row):
        notes.append(tr("* beyond the distances of your own putts: your law continued"))
    if any(c.trust == "doubtful" for row in rows for c in row):
        notes.append(tr("? downhill too steep to trust"))
    return Chart(wanted, slopes, rows, green, unit, scale.putts, tuple(dict.fromkeys(notes)))


def cell(
    scale: DistanceModel, green: Green, distance_m: float, slope_pct: float, trail_foot_cm: float = TRAIL_FOOT_CM
) -> Cell:
    """One answer: for this distance on this slope, back to where?"""
    believed = model_validity(green.green_speed_ft, slope_pct)
    if believed.trust == "none":
        return Cell(None, None, "", "none", False, believed.why)
    error = green.relative_error
    length = scale.length_cm(distance_m, green.green_speed_ft, slope_pct, error)
    outside = _outside(scale, green, distance_m, slope_pct)
    if length.value > _MAX_CM:
        return Cell(
            None, None, "", believed.trust, outside, tr("longer than {max_cm:g} cm: no putting stroke", max_cm=_MAX_CM)
        )
    stop = scale.distance_m(length.value, green.green_speed_ft, slope_pct, error)
    return Cell(length, stop, ground_mark(length.value, trail_foot_cm), believed.trust, outside, believed.why)


def _outside(scale: DistanceModel, green: Green, distance_m: float, slope_pct: float) -> bool:
    if scale.reach_m is None or scale.green_speed_ft is None:
        return False
    # The same launch speed on the green of the putts, roughly: distance goes with green speed.
    level = (
        level_equivalent_m(distance_m, green.green_speed_ft, slope_pct) * scale.green_speed_ft / green.green_speed_ft
    )
    return not scale.reach_m[0] / _SAME <= level <= scale.reach_m[1] * _SAME


def band(length_cm: Estimate, between: str) -> str:
    """The interval in whole cm, rounded outward: what is printed holds what was worked out."""
    return tr(
        "{floor:d}{between}{ceil:d}", floor=math.floor(length_cm.low), between=between, ceil=math.ceil(length_cm.high)
    )


def slope_words(slope_pct: float) -> str:
    """ "level", "2 % up", "1 % down"."""
    return (
        tr_of("slope", "level")
        if slope_pct == 0
        else tr("{slope_pct:g} % up", slope_pct=slope_pct)
        if slope_pct > 0
        else tr("{slope_pct:g} % down", slope_pct=-slope_pct)
    )


def mark_behind_ball_cm(length_cm: float) -> float:
    """Place of the putter's face at the top, behind the ball's middle: it starts one ball radius behind it."""
    return length_cm + BALL_RADIUS_CM


FootPlace = Literal["middle", "outer half", "inner half", "outer edge", "inner edge", "beyond", "short"]
# In full, and as the chart's page says it, where it is told once of which foot.
FOOT_WORDS: Mapping[FootPlace, tuple[str, str]] = {
    "middle": (tr("middle of trail foot"), tr("foot: middle")),
    "outer half": (tr("outer half of trail foot"), tr("foot: outer half")),
    "inner half": (tr("inner half of trail foot"), tr("foot: inner half")),
    "outer edge": (tr("outer edge of trail foot"), tr("foot: outer edge")),
    "inner edge": (tr("inner edge of trail foot"), tr("foot: inner edge")),
    "beyond": (tr("{edge:.0f} cm beyond trail foot"), tr("{edge:.0f} cm beyond")),
    "short": (tr("{edge:.0f} cm short of trail foot"), tr("{edge:.0f} cm short")),
}


def ground_mark(length_cm: float, trail_foot_cm: float = TRAIL_FOOT_CM) -> str:
    """The same in words, against the trail foot. trail_foot_cm: from the ball back to the foot's middle, along the
    line.
    """
    place, edge_cm = _foot_place(length_cm, trail_foot_cm)
    return FOOT_WORDS[place][0].format(edge=edge_cm)


def short_mark(length_cm: float, trail_foot_cm: float) -> str:
    """As ``ground_mark``, in few words."""
    place, edge_cm = _foot_place(length_cm, trail_foot_cm)
    return FOOT_WORDS[place][1].format(edge=edge_cm)


def _foot_place(length_cm: float, trail_foot_cm: float) -> tuple[FootPlace, float]:
    """(where the putter's face is at the top, how far from the nearer edge of the foot in cm)."""
    beyond_cm = mark_behind_ball_cm(length_cm) - trail_foot_cm
    edge_cm = abs(beyond_cm) - HALF_FOOT_CM
    if abs(beyond_cm) < 1.5:
        return "middle", edge_cm
    if edge_cm <= 0.0:
        return "outer half" if beyond_cm > 0 else "inner half", edge_cm
    if edge_cm < 0.5:
        return "outer edge" if beyond_cm > 0 else "inner edge", edge_cm
    return "beyond" if beyond_cm > 0 else "short", edge_cm


def sentence(
    scale: DistanceModel,
    green: Green,
    distance_m: float,
    slope_pct: float,
    unit: Unit,
    foot_cm: float,
    window: str = "",
) -> str:
    """In a line: "for 6.0 m, 2 % up: 29 cm, 2 cm beyond trail foot". window: in which it may end, after the putt."""
    found = cell(scale, green, distance_m, slope_pct, foot_cm)
    what = (
        found.note
        if found.length_cm is None
        else tr("{value:.0f} cm, {mark}", value=found.length_cm.value, mark=found.mark)
    )
    return tr(
        "for {distance_m}, {slope_words}{window}: {what}",
        distance_m=shown(distance_m, unit, 1),
        slope_words=slope_words(slope_pct),
        window=window,
        what=what,
    )
