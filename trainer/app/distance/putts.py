"""Putts of a player's own law: entered by hand or for a stroke on record, listed, forgotten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from trainer.app.clock import now, today
from trainer.app.context import RunContext
from trainer.app.distance.desk import Desk, desk
from trainer.coaching.distance.ball_speed import by_speed as putt_by_speed
from trainer.coaching.distance.ball_speed import frames_per_s, putt_of
from trainer.coaching.distance.checks import ROLLED, SLOPE, in_range
from trainer.coaching.distance.green_speed import Green
from trainer.coaching.distance.ladder import place, window_m
from trainer.coaching.distance.putt import Putt, checked, putt_words
from trainer.domain.measures import confident_value
from trainer.domain.naming import StrokeNumber
from trainer.domain.record import StrokeRecord
from trainer.domain.units import Unit, to_m
from trainer.errors import UsageError
from trainer.store.distance import that_count
from trainer.store.sessions import stroke_chosen, stroke_places
from trainer.texts import tr

UNKNOWN_M = 1.0  # stands in for a roll-out until the ball's speed is known


@dataclass(frozen=True, slots=True)
class PuttRequest:
    """One stroke: by its backstroke length, the newest on record, or which of the
    player's. rolled, target, rounded: in the
    player's unit; by_speed: how far it would have run, from the ball speed; sure: however odd the numbers look.
    """

    rolled: float | None = None
    target: float | None = None
    back_cm: float | None = None
    last: bool = False
    stroke: StrokeNumber | None = None
    by_speed: bool = False
    back_s: float | None = None
    to_impact_s: float | None = None
    ball_speed_m_s: float | None = None
    rounded: float = 0.1
    slope_pct: float = 0.0
    sure: bool = False


@dataclass(frozen=True, slots=True)
class EnteredPutt:
    """number: in the record; words: what it was; place: short, in or long of window_m, both None without a target.

    replaced: words of the stroke's earlier putt of that kind, None: there was none; beside: (number, words) of the
    stroke's putt of the other kind.
    """

    number: int
    words: str
    unit: Unit
    place: str | None
    window_m: tuple[float, float] | None
    estimated: bool
    replaced: str | None
    beside: tuple[int, str] | None


def enter_putt(context: RunContext, request: PuttRequest) -> EnteredPutt:
    """Keeps one putt. Raises UsageError: nothing is kept then."""
    if sum((request.back_cm is not None, request.last, request.stroke is not None)) != 1:
        raise UsageError(tr("say which stroke it was"), "putt", tr("--back CM, or --last, or --stroke K"))
    with desk(context) as at:
        unit, green = at.player().unit, at.green()
        if not request.by_speed:
            in_range(None if request.rolled is None else to_m(request.rolled, unit), ROLLED, unit)
        elif request.rolled is not None:
            raise UsageError(tr("say how far it ran in one way"), "putt", tr("--rolled D, or --by-speed"))
        stroke_id: int | None = None
        fps: float | None = None
        if request.back_cm is not None:
            putt = _by_hand(request, request.back_cm, unit, green)
        else:
            stroke_id, record = _stroke(at, request.stroke)
            putt, fps = _of_stroke(request, record, unit, green), frames_per_s(record)
        if request.by_speed:
            putt = putt_by_speed(checked(putt, unit, sure=True))
        earlier = [one for one in at.recorded.putts(at.name) if stroke_id is not None and one.stroke_id == stroke_id]
        number = at.recorded.keep_putt(at.name, checked(putt, unit, request.sure), now(), stroke_id, fps)
    words = {one.putt.estimated: (one.putt_id, putt_words(one.putt, unit)) for one in earlier}
    replaced, target_m = words.get(putt.estimated), putt.target_m
    return EnteredPutt(
        number,
        putt_words(putt, unit),
        unit,
        None if target_m is None else place(putt.rolled_m, target_m),
        None if target_m is None else window_m(target_m),
        putt.estimated,
        None if replaced is None else replaced[1],
        words.get(not putt.estimated),
    )


def _lengths_m(request: PuttRequest, unit: Unit) -> tuple[float, float | None, float]:
    """Roll-out, target, rounding."""
    rolled = UNKNOWN_M if request.rolled is None else to_m(request.rolled, unit)
    return rolled, None if request.target is None else to_m(request.target, unit), to_m(request.rounded, unit)


def _by_hand(request: PuttRequest, back_cm: float, unit: Unit, green: Green) -> Putt:
    rolled, target, rounded = _lengths_m(request, unit)
    return Putt(
        back_cm,
        rolled,
        green.green_speed_ft,
        request.slope_pct,
        target,
        request.back_s,
        request.to_impact_s,
        request.ball_speed_m_s,
        rounded,
    )


def _of_stroke(request: PuttRequest, record: StrokeRecord, unit: Unit, green: Green) -> Putt:
    rolled, target, rounded = _lengths_m(request, unit)
    in_range(request.slope_pct, SLOPE)
    return putt_of(record, rolled, green.green_speed_ft, request.slope_pct, target, rounded)


def _stroke(at: Desk, chosen: StrokeNumber | None) -> tuple[int, StrokeRecord]:
    """None: the newest with a ball."""
    if chosen is not None:
        stroke_id = stroke_chosen(at.store, at.student_key, chosen)
        if stroke_id is None:
            raise UsageError(
                tr("there is no stroke {chosen} of {name}", chosen=chosen, name=at.name),
                "--stroke",
                tr("`distance putts` lists them"),
            )
    else:
        balls = [line for line in at.store.recent(50, at.name) if line.kind == "ball"]
        if not balls:
            raise UsageError(
                tr("no ball stroke of {name} on record", name=at.name), "putt", tr("practise first, or give --back CM")
            )
        stroke_id = balls[0].stroke_id
    return stroke_id, at.store.stroke(stroke_id).record


@dataclass(frozen=True, slots=True)
class ListedPutt:
    """kept_at: aware; words: what it was; counts: it is not the estimate of a stroke whose roll-out was measured."""

    number: int
    kept_at: datetime
    words: str
    green_speed_ft: float
    slope_pct: float
    counts: bool


@dataclass(frozen=True, slots=True)
class PuttList:
    """putts: oldest first; without_roll_out: oldest first, (what the stroke is called, as `--stroke` takes it, backstroke length
    in cm or None: not seen).
    """

    name: str
    putts: tuple[ListedPutt, ...]
    without_roll_out: tuple[tuple[str, str, float | None], ...]


def list_putts(context: RunContext) -> PuttList:
    """The putts of a player, and the newest ball strokes on record that lack a roll-out."""
    with desk(context) as at:
        unit, putts = at.player().unit, at.recorded.putts(at.name)
        done = {one.stroke_id for one in putts}
        places = stroke_places(at.store, at.student_key)
        newest = [s for s in at.store.recent(20, at.name) if s.kind == "ball" and s.stroke_id not in done]
    count = {one.putt_id for one in that_count(putts)}
    listed = [
        ListedPutt(
            one.putt_id,
            one.kept_at,
            putt_words(one.putt, unit),
            one.putt.green_speed_ft,
            one.putt.slope_pct,
            one.putt_id in count,
        )
        for one in putts
    ]
    lengths = [
        (place.name(today()), place.which, confident_value(s.measures.get("back_cm")))
        for s in reversed(newest)
        if (place := places.get(s.stroke_id)) is not None
    ]
    return PuttList(at.name, tuple(listed), tuple(lengths))


def forget_putt(context: RunContext, number: int) -> None:
    """Raises StoreError when the player has none of that number."""
    with desk(context) as at:
        at.player()
        at.recorded.drop_putt(at.name, number)
