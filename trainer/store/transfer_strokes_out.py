"""Strokes out of the record for an export file, one after the other."""

from __future__ import annotations

import json
from typing import Any, Iterator, Mapping

from trainer.store.history import WHOSE, StudentKey
from trainer.store.limit_changes import limit_changes, rows_of
from trainer.store.store import Store
from trainer.store.stroke_rows import CONTEXT_COLUMNS, context_of_row, meta_of

SESSIONS, SIGNALS = "sessions.json", "signals/"
_FROM_STROKES = f"FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE}"


def sessions_out(db: Any, student_key: StudentKey) -> Iterator[str]:
    """sessions.json of a student, bit by bit. Inside a snapshot."""
    ids: dict[int, int] = {}
    yield '{"settings": ['
    used = f"SELECT DISTINCT s.settings_id {_FROM_STROKES} ORDER BY s.settings_id"
    for (i,) in db.execute(used, student_key.query()).fetchall():
        body = json.loads(db.execute("SELECT body FROM settings WHERE id = ?", (i,)).fetchone()[0])
        yield (", " if ids else "") + _json(body)
        ids[i] = len(ids)
    yield '], "sessions": ['
    sessions = f"SELECT n.id, n.uid, n.started_at, n.source FROM sessions n WHERE {WHOSE} ORDER BY n.id"
    for k, (i, *facts) in enumerate(db.execute(sessions, student_key.query())):
        head = _json(dict(zip(("uid", "started_at", "source"), facts, strict=True)))
        yield f'{", " if k else ""}{head[:-1]}, "strokes": ['
        for place, stroke in enumerate(_strokes_out(db, i, ids)):
            yield (", " if place else "") + _json(stroke)
        yield "]}"
    yield "]}"


def signals_out(db: Any, student_key: StudentKey) -> Iterator[tuple[str, bytes]]:
    """(signals/UID.npz, bytes) of each stroke of a student. Inside a snapshot."""
    sessions = db.execute(f"SELECT n.id FROM sessions n WHERE {WHOSE} ORDER BY n.id", student_key.query()).fetchall()
    for session in sessions:  # by the index: strokes with their signals are too much to be sorted
        rows = db.execute("SELECT uid, signals FROM strokes WHERE session_id = ? ORDER BY number", session)
        yield from ((f"{SIGNALS}{uid}.npz", block) for uid, block in rows)


def _strokes_out(db: Any, session: int, settings: Mapping[int, int]) -> Iterator[dict[str, Any]]:
    def parts(select: str, stroke_id: int) -> list[Any]:
        return list(db.execute(f"{select} WHERE stroke_id = ? ORDER BY place", (stroke_id,)))

    rows = db.execute(
        "SELECT id, settings_id, uid, number, kept_at, kind, view, software, drill, stage, felt, good, unsure,"
        f" {CONTEXT_COLUMNS} FROM strokes WHERE session_id = ? ORDER BY number",
        (session,),
    )
    for i, used, uid, number, at, kind, view, software, drill, stage, felt, good, unsure, *columns in rows:
        context = context_of_row(columns)
        measures = parts("SELECT name, value, unit, confidence, reason FROM measures", i)
        faults = parts("SELECT name, at_s, value, unit, limit_value FROM faults", i)
        yield {
            "uid": uid,
            "number": number,
            "kept_at": at,
            "kind": kind,
            "view": view,
            "meta": meta_of(context),
            "software": software,
            "settings": settings[used],
            "told": context.told,
            "felt": None if felt is None else bool(felt),
            "drill": drill,
            "stage": stage,
            "good": None if good is None else bool(good),
            "unsure": None if unsure is None else unsure.split(),
            "events": dict(parts("SELECT name, time_s FROM events", i)),
            "measures": {n: {"value": v, "unit": u, "confidence": c, "reason": r[:300]} for n, v, u, c, r in measures},
            "faults": [{"name": n, "at_s": t, "value": v, "unit": u, "limit": limit} for n, t, v, u, limit in faults],
            "cues": [{"name": n, "at_s": t} for n, t in parts("SELECT name, at_s FROM cues", i)],
        }


def changes_out(store: Store, student: str) -> dict[str, Any]:
    """limits.json's values."""
    found = [row for change in limit_changes(store, student) for row in rows_of(change)]
    return {"changes": [{"uid": c.uid, "at": c.at, "who": c.who, "why": c.why, "limits": c.limits} for c in found]}


def json_part(value: Any) -> bytes:
    """A JSON part as bytes."""
    return _json(value).encode()


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
