"""Strokes out of the record into plain values for an export file, and such values checked and merged into a record."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Mapping

from pydantic import ValidationError

from trainer.domain.record import Events, Measure, Signals, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import TransferError
from trainer.settings.model import Settings
from trainer.store.history import WHOSE, LimitChange, StudentKey, insert_change, limit_changes
from trainer.store.signals import unpack
from trainer.store.store import Store, utc
from trainer.store.stroke_rows import (
    CONTEXT_COLUMNS,
    Made,
    NewStroke,
    context_of_meta,
    context_of_row,
    insert_stroke,
    meta_of,
)
from trainer.store.transfer_distances import ReadyDistances, merge_distances, ready_distances
from trainer.store.transfer_file import TODO, StudentArchive
from trainer.store.transfer_signals import check_signals
from trainer.store.transfer_teaching import ReadyTeaching, merge_teaching, ready_teaching
from trainer.store.transfer_values import (
    ChangesDocument,
    SessionsDocument,
    SessionValue,
    StrokeValue,
    checked_document,
    checked_time,
)
from trainer.texts import tr


def sessions_out(store: Store, student_key: StudentKey) -> tuple[dict[str, Any], dict[str, bytes]]:
    """(sessions.json's values, signals/UID.npz -> bytes) of a student."""
    sessions: dict[int, dict[str, Any]] = {}
    settings: dict[int, int] = {}
    bodies: list[Any] = []
    signals: dict[str, bytes] = {}
    with store.reading() as db:
        for i, uid, at, source in db.execute(
            f"SELECT n.id, n.uid, n.started_at, n.source FROM sessions n WHERE {WHOSE} ORDER BY n.id",
            student_key.query(),
        ):
            sessions[i] = {"uid": uid, "started_at": at, "source": source, "strokes": []}
        rows = db.execute(
            "SELECT s.id, s.session_id, s.settings_id, s.uid, s.number, s.kept_at, s.kind, s.view, s.software,"
            f" s.drill, s.stage, s.signals, s.felt, s.good, s.unsure, {CONTEXT_COLUMNS} FROM strokes s"
            f" JOIN sessions n ON n.id = s.session_id WHERE {WHOSE} ORDER BY s.session_id, s.number",
            student_key.query(),
        ).fetchall()

        def parts(select: str, stroke_id: int) -> list[Any]:
            return db.execute(f"{select} WHERE stroke_id = ? ORDER BY place", (stroke_id,)).fetchall()

        for (
            i,
            session,
            used,
            uid,
            number,
            at,
            kind,
            view,
            software,
            drill,
            stage,
            block,
            felt,
            good,
            unsure,
            *columns,
        ) in rows:
            context = context_of_row(columns)
            if used not in settings:
                settings[used] = len(bodies)
                bodies.append(json.loads(db.execute("SELECT body FROM settings WHERE id = ?", (used,)).fetchone()[0]))
            measures = parts("SELECT name, value, unit, confidence, reason FROM measures", i)
            faults = parts("SELECT name, at_s, value, unit, limit_value FROM faults", i)
            sessions[session]["strokes"].append(
                {
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
                    "measures": {
                        n: {"value": v, "unit": u, "confidence": c, "reason": r[:300]} for n, v, u, c, r in measures
                    },
                    "faults": [
                        {"name": n, "at_s": t, "value": v, "unit": u, "limit": limit} for n, t, v, u, limit in faults
                    ],
                    "cues": [{"name": n, "at_s": t} for n, t in parts("SELECT name, at_s FROM cues", i)],
                }
            )
            signals[f"signals/{uid}.npz"] = block
    return {"settings": bodies, "sessions": list(sessions.values())}, signals


def changes_out(store: Store, student: str) -> dict[str, Any]:
    """limits.json's values."""
    found = limit_changes(store, student)
    return {"changes": [{"uid": c.uid, "at": c.at, "who": c.who, "why": c.why, "limits": c.limits} for c in found]}


@dataclass(frozen=True, slots=True)
class ReadySession:
    """A session of an export file, checked, with each stroke's packed signals, which take a tenth of the room."""

    value: SessionValue
    strokes: tuple[tuple[StrokeValue, bytes], ...]


@dataclass(frozen=True, slots=True)
class Ready:
    """All that an export file brings for the record, checked whole; settings: as kept (JSON)."""

    sessions: tuple[ReadySession, ...]
    settings: tuple[str, ...]
    changes: tuple[LimitChange, ...]
    distances: ReadyDistances
    teaching: ReadyTeaching


def ready(archive: StudentArchive) -> Ready:
    """Checks sessions, strokes, signals, changes and distances. Raises TransferError; nothing is written."""
    student = str(archive.manifest["student"])
    listed = checked_document(
        ChangesDocument, archive.json("limits.json") or {"changes": []}, "limits.json", archive.name
    )
    changes = []
    for change in listed.changes:
        at = checked_time(change.at, "limits.json", archive.name)
        try:
            Settings.checked({"limits": change.limits})
        except ValidationError:
            raise TransferError(tr("limits.json holds limits out of range"), archive.name, TODO) from None
        changes.append(LimitChange(change.uid, student, utc(at), change.who, change.why, change.limits))
    document = checked_document(
        SessionsDocument,
        archive.json("sessions.json") or {"settings": [], "sessions": []},
        "sessions.json",
        archive.name,
    )
    settings = []
    for body in document.settings:
        try:
            settings.append(json.dumps(Settings.checked(body).values(), sort_keys=True))
        except ValidationError:
            raise TransferError(
                tr("sessions.json holds unknown settings"), archive.name, tr("update putting-trainer")
            ) from None
    sessions, seen = [], set()
    for session in document.sessions:
        checked_time(session.started_at, "sessions.json", archive.name)
        strokes = []
        for stroke in session.strokes:
            checked_time(stroke.kept_at, "sessions.json", archive.name)
            block = archive.parts.get(f"signals/{stroke.uid}.npz")
            if block is None or stroke.uid in seen or stroke.settings >= len(settings):
                raise TransferError(tr("stroke {uid} is not whole", uid=stroke.uid), archive.name, TODO)
            seen.add(stroke.uid)
            check_signals(block, stroke, archive.name)
            strokes.append((stroke, block))
        sessions.append(ReadySession(session, tuple(strokes)))
    if len({s.value.uid for s in sessions}) != len(sessions):
        raise TransferError(tr("a session stands twice in it"), archive.name, TODO)
    if seen != {p[8:-4] for p in archive.parts if p.startswith("signals/")}:
        raise TransferError(tr("holds signals of no stroke"), archive.name, TODO)
    return Ready(tuple(sessions), tuple(settings), tuple(changes), ready_distances(archive), ready_teaching(archive))


def _record(stroke: StrokeValue, signals: Signals) -> StrokeRecord:
    measures = {n: Measure(m.value, m.unit, m.confidence, m.reason) for n, m in stroke.measures.items()}
    context = context_of_meta(stroke.meta)
    if stroke.told is not None:
        context = replace(context, told=stroke.told)
    return StrokeRecord(stroke.kind, Events.of(stroke.events), measures, signals, stroke.view, context)


@dataclass(frozen=True, slots=True)
class Merged:
    """How much was new, and how much was there already."""

    new_sessions: int
    new_strokes: int
    known_strokes: int
    new_changes: int
    new_distances: int
    new_teaching: int = 0


def merge(db: Any, student_key: StudentKey, what: Ready) -> Merged:
    """Inside a transaction, puts in what is not there yet, by its stable ids. Doing it again changes nothing."""
    sessions = strokes = known = changes = 0
    ids = []
    for body in what.settings:
        db.execute("INSERT OR IGNORE INTO main.settings (body) VALUES (?)", (body,))
        ids.append(db.execute("SELECT id FROM settings WHERE body = ?", (body,)).fetchone()[0])
    for session in what.sessions:
        value = session.value
        found = db.execute("SELECT id, student FROM main.sessions WHERE uid = ?", (value.uid,)).fetchone()
        if found is None:
            sql = "INSERT INTO main.sessions (started_at, player, source, uid, student) VALUES (?, ?, ?, ?, ?)"
            row = (
                utc(datetime.fromisoformat(value.started_at)),
                student_key.player,
                value.source,
                value.uid,
                student_key.student,
            )
            session_id, sessions = int(db.execute(sql, row).lastrowid or 0), sessions + 1
        else:
            session_id = found[0]
            if found[1] not in (None, student_key.student):
                raise TransferError(tr("session {uid} belongs to another student here", uid=value.uid), "", TODO)
        for stroke, block in session.strokes:
            if db.execute("SELECT 1 FROM main.strokes WHERE uid = ?", (stroke.uid,)).fetchone():
                known += 1
                continue
            _insert(db, session_id, ids[stroke.settings], stroke, block)
            strokes += 1
    for change in what.changes:
        changes += insert_change(db, change)
    distances = merge_distances(db, student_key, what.distances)
    teaching = merge_teaching(db, student_key, what.teaching)
    return Merged(sessions, strokes, known, changes, distances, teaching)


def _insert(db: Any, session_id: int, settings_id: int, stroke: StrokeValue, block: bytes) -> None:
    record = _record(stroke, unpack(block, stroke.uid))
    faults = [Fault(f.name, f.at_s, f.value, f.unit, f.limit) for f in stroke.faults]
    cues = [Cue(c.name, c.at_s) for c in stroke.cues]
    at = utc(datetime.fromisoformat(stroke.kept_at))
    unsure = None if stroke.unsure is None else tuple(stroke.unsure)
    more = (stroke.number, Made(stroke.drill, stroke.stage, stroke.good, unsure), stroke.felt)
    insert_stroke(
        db, NewStroke(session_id, settings_id, stroke.uid, at, stroke.software, record, block, faults, cues, *more)
    )


def parts_of(values: Mapping[str, Any]) -> dict[str, bytes]:
    """JSON parts as bytes."""
    return {part: json.dumps(value, ensure_ascii=False, allow_nan=False).encode() for part, value in values.items()}
