"""What a player's putts say: the law, what makes the distances vary, the rhythm and the lag score; the chart; a ladder."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Sequence

from trainer.app.clock import today
from trainer.app.context import RunContext
from trainer.app.distance.desk import desk
from trainer.coaching.distance.chart import SLOPES_PCT, Cell, Chart, cell, chart, slope_words
from trainer.coaching.distance.chart import band as band
from trainer.coaching.distance.checks import PUTT, SLOPE, in_range
from trainer.coaching.distance.distance_model import DistanceModel, Estimate
from trainer.coaching.distance.distance_table import ADVICE, SHORT, WORDS, distance_table
from trainer.coaching.distance.ladder import Lag as Lag
from trainer.coaching.distance.ladder import lag_score, order_of, window_m
from trainer.coaching.distance.putt import Putt
from trainer.coaching.distance.rhythm import rhythm
from trainer.domain.naming import day_words
from trainer.domain.units import Unit, to_m
from trainer.errors import UsageError
from trainer.output import PAGE, output
from trainer.report.distance_page import distance_page
from trainer.store.distance import KeptPutt

SLOWEST_CAMERA_FPS = 30.0
LENGTHS_FOR: dict[Unit, tuple[float, ...]] = {"m": (1.0, 2.0, 4.0, 8.0), "ft": (3.0, 6.0, 12.0, 24.0)}


@dataclass(frozen=True, slots=True)
class Missing:
    """What cannot be worked out yet. todo: what it needs, may be empty."""

    what: str
    why: str
    todo: str


def _missing(error: UsageError) -> Missing:
    return Missing(error.where, error.what, error.todo)


@dataclass(frozen=True, slots=True)
class Variation:
    """What makes the distances vary. variability: one standard deviation, of distance; parts: (words, share of it);
    largest: its words; advice: what to work on, None where the largest part is one that is not explained; confident: it
    would be the largest in most samples.
    """

    putts: int
    variability: float
    parts: tuple[tuple[str, Estimate], ...]
    largest: str
    advice: str | None
    confident: bool


@dataclass(frozen=True)
class ScaleView:
    """left_out: numbers of the putts that are mishits; lengths: distance in m -> backstroke in cm, on the level."""

    unit: Unit
    green_speed_ft: float
    putts: int
    model: DistanceModel
    left_out: tuple[int, ...]
    lengths: tuple[tuple[float, Estimate], ...]
    variation: Variation | Missing
    rhythm: str | Missing
    lag: Lag | Missing


def scale_view(context: RunContext) -> ScaleView:
    """Raises UsageError while unit or green are not set."""
    with desk(context) as at:
        unit, green = at.player().unit, at.green()
        model, recorded = at.model()
    putts = [one.putt for one in recorded]
    metres = [to_m(distance, unit) for distance in LENGTHS_FOR[unit]]
    speed_ft, error = green.green_speed_ft, green.relative_error
    return ScaleView(
        unit,
        speed_ft,
        len(putts),
        model,
        tuple(recorded[i].putt_id for i in model.mishits),
        tuple((distance, model.length_cm(distance, speed_ft, 0.0, error)) for distance in metres),
        _variation(putts, model),
        _rhythm(recorded),
        _lag(putts),
    )


def _variation(putts: Sequence[Putt], model: DistanceModel) -> Variation | Missing:
    try:
        found = distance_table(putts, model)
    except UsageError as error:
        return _missing(error)
    return Variation(
        found.putts,
        found.variability,
        tuple((WORDS[name], part) for name, part in found.proportions.items()),
        SHORT[found.largest],
        ADVICE.get(found.largest),
        found.confident,
    )


def _rhythm(recorded: Sequence[KeptPutt]) -> str | Missing:
    timed = [
        (one.putt.back_s + one.putt.to_impact_s, one.putt.target_m or one.putt.rolled_m, one.frames_per_s)
        for one in recorded
        if one.putt.back_s is not None and one.putt.to_impact_s is not None
    ]
    rates = [fps for _, _, fps in timed if fps is not None]
    slowest = min(rates, default=SLOWEST_CAMERA_FPS)
    try:
        return rhythm([whole for whole, _, _ in timed], [distance for _, distance, _ in timed], slowest).line()
    except UsageError as error:
        return _missing(error)


def _lag(putts: Sequence[Putt]) -> Lag | Missing:
    try:
        return lag_score(putts)
    except UsageError as error:
        return _missing(error)


@dataclass(frozen=True, slots=True)
class ChartRequest:
    """distances: in the player's unit, None: the usual ones; html: where the page goes, None: no page."""

    distances: tuple[float, ...] | None = None
    slopes_pct: tuple[float, ...] = SLOPES_PCT
    html: Path | None = None


@dataclass(frozen=True)
class ChartView:
    """slopes: in words, one a column of the chart; level: the column without slope, None: there is none."""

    chart: Chart
    slopes: tuple[str, ...]
    level: int | None


def chart_view(context: RunContext, request: ChartRequest) -> ChartView:
    """Writes the page where one is wanted. Raises UsageError."""
    with desk(context) as at:
        player, green = at.player(), at.green()
        model, _ = at.model()
        name = at.name
    made = chart(model, green, player.unit, request.distances, request.slopes_pct, player.trail_foot_cm)
    if request.html is not None:
        day = day_words(today())
        text = distance_page(made, name, day, player.trail_foot_cm)
        with output(request.html, PAGE, context.base) as file:
            file.write(text.encode("utf-8"))
    level = made.slopes_pct.index(0) if 0 in made.slopes_pct else None
    return ChartView(made, tuple(map(slope_words, made.slopes_pct)), level)


@dataclass(frozen=True, slots=True)
class LadderRequest:
    """distances: in the player's unit; each: putts to each; seed: the same gives the same order, None: another one."""

    distances: tuple[float, ...]
    each: int = 3
    order: Literal["random", "blocked"] = "random"
    seed: int | None = None
    slope_pct: float = 0.0


@dataclass(frozen=True, slots=True)
class LadderRung:
    """One putt. window_m: where it is to stop."""

    target_m: float
    cell: Cell
    window_m: tuple[float, float]


@dataclass(frozen=True, slots=True)
class LadderView:
    """In the order in which to putt. slope: in words."""

    unit: Unit
    green_speed_ft: float
    seed: int
    slope: str
    rungs: tuple[LadderRung, ...]


def ladder_view(context: RunContext, request: LadderRequest) -> LadderView:
    """Raises UsageError for what cannot be."""
    with desk(context) as at:
        player, green = at.player(), at.green()
        slope_pct = in_range(request.slope_pct, SLOPE)
        marks = [in_range(to_m(d, player.unit), PUTT, player.unit) for d in request.distances]
        seed = time.time_ns() % 10**6 if request.seed is None else request.seed
        order = order_of(marks, request.each, request.order, seed, player.unit)
        model, _ = at.model()
    cells = {mark: cell(model, green, mark, slope_pct, player.trail_foot_cm) for mark in marks}
    rungs = tuple(LadderRung(mark, cells[mark], window_m(mark)) for mark in order)
    return LadderView(player.unit, green.green_speed_ft, seed, slope_words(slope_pct), rungs)
