"""The most recent strokes of the record, and a stroke's verdict in words."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Mapping, Sequence

from trainer.app.clock import today
from trainer.app.context import RunContext, student_named
from trainer.app.student_file import student_key
from trainer.coaching.verdict import BY_TIMING, TOO_CLOSE_S, kept_too_close, look_after_s, without_fault
from trainer.coaching.verdict import Verdict as Verdict
from trainer.domain.measures import FAR_TURN_DEG, MEASURES, confident_value
from trainer.domain.naming import moment_words
from trainer.domain.record import Measure
from trainer.domain.verdict import FAULT_NAMES, Fault, fault_words
from trainer.errors import UsageError
from trainer.store.sessions import stroke_places
from trainer.store.store import StrokeLine
from trainer.store.students import StudentFile
from trainer.texts import join, tr, tr_count

COLUMNS = (
    "hold_s", "early_by_s", "head_turn_deg", "hinge_change_deg", "tempo_ratio", "back_cm", "through_cm", "recoil_cm",
)  # fmt: skip
NO_FAULTS = tr("no fault")


@dataclass(frozen=True, slots=True)
class StrokesRequest:
    """The newest so many; of this student only if named, who may be a player who is no student."""

    count: int = 20
    student: str | None = None


@dataclass(frozen=True, slots=True)
class RecentStrokes:
    """folder: of the record; strokes: newest first, each with its name and its number as `review --stroke` takes it;
    of_student: those numbers count the sessions of the student asked for, not everybody's; moments: when the session of each
    began.
    """

    folder: Path
    strokes: tuple[tuple[str, str, StrokeLine], ...]
    of_student: bool = False
    moments: tuple[str, ...] = ()


def recent_strokes(context: RunContext, request: StrokesRequest) -> RecentStrokes:
    player = request.student
    student: StudentFile | None = None
    if player is not None:
        with suppress(UsageError):  # a name in the record only
            student = student_named(context.base, player)
            player = student.name
    with context.open_store_to_read() as store:
        places = stroke_places(store, student_key(student) if student is not None else None)
        lines = store.recent(request.count, player)
    day = today()
    placed = [(p, line) for line in lines if (p := places.get(line.stroke_id)) is not None]
    return RecentStrokes(
        context.folder,
        tuple((p.name(day), p.which, line) for p, line in placed),
        student is not None,
        tuple(moment_words(p.session_at, day) for p, _ in placed),
    )


def verdict_words(found: Sequence[Fault], indeterminate: Sequence[str] = (), too_close: bool = False) -> str:
    """Faults in words; none is said too, and what could not be judged is never passed off as none."""
    words = [join(", ", (fault_words(fault.name) for fault in found))] if found else []
    if too_close:
        words.append(tr("look too close to call"))
    if indeterminate:
        words.append(tr("not sure: {listed}", listed=join(", ", map(fault_words, indeterminate))))
    return join("; ", words) if words else NO_FAULTS


def line_words(line: StrokeLine) -> str:
    """A stroke's kept verdict in words."""
    near = kept_too_close(look_after_s(line.measures), [fault.name for fault in line.faults])
    unsure = [name for name in line.unsure or () if not (near and name in BY_TIMING)]
    return verdict_words(line.faults, unsure, near)


def uncalled_lines(verdicts: Sequence[Verdict]) -> list[str]:
    """How many strokes have faults that could not be judged, and which; how many looks were too close to call."""
    out = []
    if some := [verdict.indeterminate for verdict in verdicts if verdict.indeterminate]:
        which = [fault_words(name) for name in FAULT_NAMES if any(name in names for names in some)]
        out.append(tr("not sure: {strokes} ({listed})", strokes=_strokes(len(some)), listed=join(", ", which)))
    if near := sum(verdict.too_close for verdict in verdicts):
        out.append(
            tr(
                "too close to call: {strokes} (look within {too_close_s:g} s of rest, neither early nor held)",
                strokes=_strokes(near),
                too_close_s=TOO_CLOSE_S,
            )
        )
    return out


def score_line(strokes: Sequence[tuple[str, Verdict]]) -> str:
    """Ball strokes without any fault, all that are judged together; empty of none. strokes: (kind, verdict)."""
    marks = [without_fault(verdict) for kind, verdict in strokes if kind == "ball"]
    called = [mark for mark in marks if mark is not None]
    if not marks:
        return ""
    beside = tr(", {number} not judged", number=len(marks) - len(called)) if len(called) < len(marks) else ""
    return tr(
        "without any fault: {number} of {number2} ball strokes{beside}",
        number=sum(called),
        number2=len(called),
        beside=beside,
    )


def _strokes(count: int) -> str:
    return tr_count("{count} stroke", "{count} strokes", count)


def measure_cells(measures: Mapping[str, Measure], columns: Sequence[str] = COLUMNS) -> list[str]:
    """A cell a column; a thing not seen, or not surely, is a dash."""
    return [_cell(name, measures.get(name)) for name in columns]


def _cell(name: str, measure: Measure | None) -> str:
    value = confident_value(measure)
    if value is None:
        return "-"
    if name == "head_turn_deg" and abs(value) > FAR_TURN_DEG:
        return tr("{words}{far_turn_deg:.0f}", words="<-" if value < 0 else ">", far_turn_deg=FAR_TURN_DEG)
    return tr("{value:.{decimals}f}", decimals=MEASURES[name].decimals, value=value)
