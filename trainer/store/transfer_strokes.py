"""Strokes of an export file checked one by one and merged into a record."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Iterable, Iterator

from pydantic import ValidationError

from trainer.domain.record import Events, Measure, Signals, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import TransferError
from trainer.settings.model import Settings
from trainer.store.history import StudentKey
from trainer.store.limit_changes import LimitChange, changes_of
from trainer.store.limit_lines import merge_changes
from trainer.store.reassign import is_taken_out
from trainer.store.store import utc
from trainer.store.stroke_rows import Made, NewStroke, context_of_meta, insert_stroke
from trainer.store.transfer_distances import ReadyDistances, merge_distances, ready_distances
from trainer.store.transfer_file import StudentArchive
from trainer.store.transfer_json import TODO, JsonStream, shortened
from trainer.store.transfer_signals import checked_signals
from trainer.store.transfer_strokes_out import SESSIONS, SIGNALS
from trainer.store.transfer_teaching import ReadyTeaching, merge_teaching, ready_teaching
from trainer.store.transfer_values import (
    ChangesDocument,
    SessionValue,
    StrokeValue,
    checked_document,
    checked_time,
)
from trainer.texts import tr


@dataclass(frozen=True, slots=True)
class ReadyStroke:
    """A stroke of an export file, checked. block: its signals as packed."""

    value: StrokeValue
    block: bytes
    signals: Signals


@dataclass(frozen=True, slots=True)
class Ready:
    """What an export file brings for the record beside its strokes, checked."""

    changes: tuple[LimitChange, ...]
    distances: ReadyDistances
    teaching: ReadyTeaching


def ready(archive: StudentArchive) -> Ready:
    """Checks changes, distances and teaching. Raises TransferError; nothing is written."""
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
    return Ready(tuple(changes_of(changes)), ready_distances(archive), ready_teaching(archive))


def ready_strokes(archive: StudentArchive) -> Iterator[str | SessionValue | ReadyStroke]:
    """Bodies of settings as kept, then each session before its strokes, each checked as it comes. Raises TransferError:
    what came before is then to be taken back.
    """
    seen: set[str] = set()
    if SESSIONS in archive.parts:
        with archive.stream(SESSIONS) as stream:
            yield from _StrokesIn(archive, stream, seen).document()
    if seen != {stroke_of(part) for part in archive.parts if part.startswith(SIGNALS)}:
        raise TransferError(tr("holds signals of no stroke"), archive.name, TODO)


def stroke_of(part: str) -> str:
    """The uid of the stroke that a part with signals is of."""
    return part[len(SIGNALS) : -len(".npz")]


class _StrokesIn:
    """Reads sessions.json. strokes: the uids that came."""

    def __init__(self, archive: StudentArchive, stream: JsonStream, strokes: set[str]) -> None:
        self._archive, self._stream, self._strokes = archive, stream, strokes
        self._sessions: set[str] = set()
        self._settings = 0

    def document(self) -> Iterator[str | SessionValue | ReadyStroke]:
        keys = []
        for key in self._stream.members():
            keys.append(key)
            if keys == ["settings"]:
                for _ in self._stream.entries():
                    yield self._body(self._stream.value())
                    self._settings += 1
            elif keys == ["settings", "sessions"]:
                for _ in self._stream.entries():
                    yield from self._session()
            else:
                raise self._fault(shortened(key))
        if len(keys) != 2:
            raise self._fault(SESSIONS)

    def _body(self, body: Any) -> str:
        try:
            return json.dumps(Settings.checked(body).values(), sort_keys=True)
        except ValidationError:
            raise TransferError(
                tr("sessions.json holds unknown settings"), self._archive.name, tr("update putting-trainer")
            ) from None

    def _session(self) -> Iterator[SessionValue | ReadyStroke]:
        head: dict[str, Any] = {}
        for key in self._stream.members():
            if "strokes" in head:
                raise self._fault(shortened(key))
            if key != "strokes":
                head[key] = self._stream.value()
                continue
            session: SessionValue = checked_document(SessionValue, dict(head), SESSIONS, self._archive.name)
            checked_time(session.started_at, SESSIONS, self._archive.name)
            if session.uid in self._sessions:
                raise TransferError(tr("a session stands twice in it"), self._archive.name, TODO)
            self._sessions.add(session.uid)
            yield session
            head["strokes"] = True
            for _ in self._stream.entries():
                yield self._stroke(self._stream.value())
        if "strokes" not in head:
            raise self._fault("strokes")

    def _stroke(self, values: Any) -> ReadyStroke:
        stroke: StrokeValue = checked_document(StrokeValue, values, SESSIONS, self._archive.name)
        checked_time(stroke.kept_at, SESSIONS, self._archive.name)
        block = self._archive.data(f"{SIGNALS}{stroke.uid}.npz")
        if block is None or stroke.uid in self._strokes or stroke.settings >= self._settings:
            raise TransferError(tr("stroke {uid} is not whole", uid=stroke.uid), self._archive.name, TODO)
        self._strokes.add(stroke.uid)
        return ReadyStroke(stroke, block, checked_signals(block, stroke, self._archive.name))

    def _fault(self, where: str) -> TransferError:
        what = tr("{part} is not as it should be ({why})", part=SESSIONS, why=where)
        return TransferError(what, self._archive.name, TODO)


def _record(stroke: StrokeValue, signals: Signals) -> StrokeRecord:
    measures = {n: Measure(m.value, m.unit, m.confidence, m.reason) for n, m in stroke.measures.items()}
    context = context_of_meta(stroke.meta)
    if stroke.told is not None:
        context = replace(context, told=stroke.told)
    return StrokeRecord(stroke.kind, Events.of(stroke.events), measures, signals, stroke.view, context)


@dataclass(frozen=True, slots=True)
class Merged:
    """How much was new, and how much was there already. kept_out: strokes that were taken out here."""

    new_sessions: int
    new_strokes: int
    known_strokes: int
    new_changes: int
    new_distances: int
    new_teaching: int = 0
    kept_out: int = 0


def merge(db: Any, student_key: StudentKey, what: Ready, strokes: Iterable[str | SessionValue | ReadyStroke]) -> Merged:
    """Inside a transaction, puts in what is not there yet, by its stable ids. Doing it again changes nothing.

    strokes: as from ``ready_strokes``; what is wrong with one takes all back.
    """
    sessions = new = known = kept_out = 0
    session_id: int | None = None
    settings = []
    for entry in strokes:
        if isinstance(entry, str):
            settings.append(_settings_id(db, entry))
        elif isinstance(entry, SessionValue):
            session, session_id = entry, _known_session(db, student_key, entry)
        elif db.execute("SELECT 1 FROM main.strokes WHERE uid = ?", (entry.value.uid,)).fetchone():
            known += 1
        elif is_taken_out(db, entry.value.uid):
            kept_out += 1
        else:
            if session_id is None:  # one whose strokes were all given away or taken out here does not come back
                session_id = _new_session(db, student_key, session)
                sessions += 1
            _insert(db, session_id, settings[entry.value.settings], entry)
            new += 1
    changes = merge_changes(db, student_key, what.changes)
    distances = merge_distances(db, student_key, what.distances)
    teaching = merge_teaching(db, student_key, what.teaching)
    return Merged(sessions, new, known, changes, distances, teaching, kept_out)


def _settings_id(db: Any, body: str) -> int:
    db.execute("INSERT OR IGNORE INTO main.settings (body) VALUES (?)", (body,))
    return int(db.execute("SELECT id FROM settings WHERE body = ?", (body,)).fetchone()[0])


def _known_session(db: Any, student_key: StudentKey, value: SessionValue) -> int | None:
    """Its id here; None: it is not here."""
    found = db.execute("SELECT id, student FROM main.sessions WHERE uid = ?", (value.uid,)).fetchone()
    if found is None:
        return None
    if found[1] not in (None, student_key.student):
        raise TransferError(tr("session {uid} belongs to another student here", uid=value.uid), "", TODO)
    return int(found[0])


def _new_session(db: Any, student_key: StudentKey, value: SessionValue) -> int:
    sql = "INSERT INTO main.sessions (started_at, player, source, uid, student) VALUES (?, ?, ?, ?, ?)"
    at = utc(datetime.fromisoformat(value.started_at))
    row = (at, student_key.player, value.source, value.uid, student_key.student)
    return int(db.execute(sql, row).lastrowid or 0)


def _insert(db: Any, session_id: int, settings_id: int, what: ReadyStroke) -> None:
    stroke = what.value
    record = _record(stroke, what.signals)
    faults = [Fault(f.name, f.at_s, f.value, f.unit, f.limit) for f in stroke.faults]
    cues = [Cue(c.name, c.at_s) for c in stroke.cues]
    at = utc(datetime.fromisoformat(stroke.kept_at))
    unsure = None if stroke.unsure is None else tuple(stroke.unsure)
    more = (stroke.number, Made(stroke.drill, stroke.stage, stroke.good, unsure), stroke.felt)
    insert_stroke(
        db,
        NewStroke(session_id, settings_id, stroke.uid, at, stroke.software, record, what.block, faults, cues, *more),
    )
