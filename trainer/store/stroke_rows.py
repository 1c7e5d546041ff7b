"""A stroke as rows of the tables, and its circumstances as the map of texts that export files carry."""

from __future__ import annotations

import math
import sqlite3
from dataclasses import dataclass
from typing import Any, Mapping, Sequence

from trainer.domain.record import EVENT_NAMES, OtherStroke, StrokeContext, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.store.signals import pack_turns

# Columns of ``strokes`` that hold a StrokeContext.
CONTEXT_COLUMNS = "told, camera, other_session, other_stroke, other_offset_ms, track, look_deg, impact_warning"
# A stroke that a second camera saw too is kept twice and counted once.
COUNTED = "s.camera IS NOT 'second'"
# By time, whenever a session came into the record; those of one session as they were made, though a clock was set back meanwhile.
_TILL = "SELECT session_id AS session, max(kept_at) AS till FROM strokes GROUP BY session_id"
WITH_TIME = f"JOIN ({_TILL}) t ON t.session = s.session_id"
NEWEST_FIRST = "t.till DESC, s.session_id DESC, s.id DESC"
_TOLD = {"yes": True, "no": False}


@dataclass(frozen=True, slots=True)
class Made:
    """What a stroke was made in and what came of it. drill: id, None: free practice; stage: of the drill, block or silent;
    good: by the drill's rule, None: not judged, or in none; unsure: faults that could not be judged, None: not known.
    """

    drill: str | None = None
    stage: str | None = None
    good: bool | None = None
    unsure: tuple[str, ...] | None = None


FREE = Made()


@dataclass(frozen=True)
class NewStroke:
    """What is put in. signals: packed; number: in its session, None or taken: the next; kept_at: as ``utc`` gives it."""

    session_id: int
    settings_id: int
    uid: str
    kept_at: str
    software: str
    record: StrokeRecord
    signals: bytes
    faults: Sequence[Fault]
    cues: Sequence[Cue]
    number: int | None = None
    made: Made = FREE
    felt: bool | None = None


def insert_stroke(db: sqlite3.Connection, new: NewStroke) -> int:
    """Its number in the session."""
    number = _free_number(db, new.session_id, new.number)
    record, context = new.record, new.record.context
    row = {
        "session_id": new.session_id, "number": number, "kept_at": new.kept_at, "kind": record.kind, "view": record.view,
        "software": new.software, "settings_id": new.settings_id, "signals": new.signals, "uid": new.uid,
        "drill": new.made.drill, "stage": new.made.stage, "turns": pack_turns(record.signals),
        "felt": None if new.felt is None else int(new.felt),
        "good": None if new.made.good is None else int(new.made.good),
        "unsure": None if new.made.unsure is None else " ".join(new.made.unsure),
        **context_columns(context),
    }  # fmt: skip
    marks = ", ".join(f":{name}" for name in row)
    stroke_id = db.execute(f"INSERT INTO main.strokes ({', '.join(row)}) VALUES ({marks})", row).lastrowid
    _insert_parts(db, int(stroke_id or 0), new)
    return number


def _free_number(db: sqlite3.Connection, session_id: int, wanted: int | None) -> int:
    taken = "SELECT 1 FROM main.strokes WHERE session_id = ? AND number = ?"
    if wanted is not None and db.execute(taken, (session_id, wanted)).fetchone() is None:
        return wanted
    last = db.execute("SELECT max(number) FROM main.strokes WHERE session_id = ?", (session_id,)).fetchone()[0]
    return int(last or 0) + 1


def _insert_parts(db: sqlite3.Connection, stroke_id: int, new: NewStroke) -> None:
    """The rows of a stroke's events, measures and verdict."""
    db.executemany(
        "INSERT INTO main.events VALUES (?, ?, ?, ?)",
        [(stroke_id, i, name, _real(new.record.events.named(name))) for i, name in enumerate(EVENT_NAMES)],
    )
    db.executemany(
        "INSERT INTO main.measures VALUES (?, ?, ?, ?, ?, ?, ?)",
        [
            (stroke_id, i, name, _real(m.value), m.unit, _real(m.confidence) or 0.0, m.reason)
            for i, (name, m) in enumerate(new.record.measures.items())
        ],
    )
    db.executemany(
        "INSERT INTO main.faults VALUES (?, ?, ?, ?, ?, ?, ?)",
        [
            (stroke_id, i, f.name, float(f.at_s), float(f.value), f.unit, float(f.limit))
            for i, f in enumerate(new.faults)
        ],
    )
    db.executemany(
        "INSERT INTO main.cues VALUES (?, ?, ?, ?)",
        [(stroke_id, i, cue.name, float(cue.at_s)) for i, cue in enumerate(new.cues)],
    )


def context_columns(context: StrokeContext) -> dict[str, Any]:
    """Column -> value, in the order of CONTEXT_COLUMNS."""
    other = context.other
    return {
        "told": None if context.told is None else int(context.told),
        "camera": context.camera,
        "other_session": other.session if other is not None else None,
        "other_stroke": other.number if other is not None else None,
        "other_offset_ms": other.offset_ms if other is not None else None,
        "track": context.track or None,
        "look_deg": context.look_deg,
        "impact_warning": context.impact_warning or None,
    }


def context_of_row(row: Sequence[Any]) -> StrokeContext:
    """row: CONTEXT_COLUMNS."""
    told, camera, session, number, offset_ms, track, look_deg, impact_warning = row
    other = None if number is None or offset_ms is None else OtherStroke(number, offset_ms, session)
    return StrokeContext(
        None if told is None else bool(told), camera, other, track or "", look_deg, impact_warning or ""
    )


def meta_of(context: StrokeContext) -> dict[str, str]:
    """As export files carry it; what is not known has no key."""
    other = context.other
    meta = {
        "track": context.track,
        "look_deg": "" if context.look_deg is None else repr(context.look_deg),
        "impact": context.impact_warning,
        "told": "" if context.told is None else "yes" if context.told else "no",
        "camera": context.camera or "",
        "other_stroke": "" if other is None else str(other.number),
        "offset_ms": "" if other is None else f"{other.offset_ms:.1f}",
        "other_session": "" if other is None or other.session is None else str(other.session),
    }
    return {key: text for key, text in meta.items() if text}


def context_of_meta(meta: Mapping[str, Any]) -> StrokeContext:
    """From that map, whoever wrote it; what makes no sense is not known."""
    number, offset_ms = _whole(meta.get("other_stroke")), _finite(meta.get("offset_ms"))
    camera, track, impact = meta.get("camera"), meta.get("track"), meta.get("impact")
    return StrokeContext(
        told=_TOLD.get(str(meta.get("told"))),
        camera="first" if camera == "first" else "second" if camera == "second" else None,
        other=None
        if number is None or offset_ms is None
        else OtherStroke(number, offset_ms, _whole(meta.get("other_session"))),
        track=track if isinstance(track, str) else "",
        look_deg=_finite(meta.get("look_deg")),
        impact_warning=impact if isinstance(impact, str) else "",
    )


def _whole(text: Any) -> int | None:
    return int(text) if isinstance(text, str) and text.isdecimal() and len(text) <= 12 else None


def _finite(text: Any) -> float | None:
    try:
        value = float(text)
    except (TypeError, ValueError):
        return None
    return value if math.isfinite(value) else None


def _real(value: float | None) -> float | None:
    """SQLite keeps a float64 exactly; a NaN would be kept as NULL, which is what it means here: not seen."""
    return None if value is None or math.isnan(value) else float(value)
