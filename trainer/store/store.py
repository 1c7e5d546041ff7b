"""The record of every stroke: kept before its result is shown, read back bit for bit, judged again at any time."""

from __future__ import annotations

import json
import sqlite3
import threading
import uuid
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from types import TracebackType
from typing import Any, Iterator, Mapping, Sequence

from trainer.domain.outcome import Where
from trainer.domain.record import Events, Measure, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import StoreError
from trainer.settings.model import Settings
from trainer.store.database import FILE_NAME, alone, open_database, transaction, translate_errors
from trainer.store.folder import ensure_folder
from trainer.store.signals import pack, unpack
from trainer.store.stroke_rows import (
    CONTEXT_COLUMNS,
    COUNTED,
    FREE,
    NEWEST_FIRST,
    WITH_TIME,
    Made,
    NewStroke,
    context_of_row,
    insert_stroke,
)
from trainer.texts import tr


@dataclass(frozen=True)
class KeptStroke:
    """A stroke read back, with what judged it. number: in its session, from 1."""

    stroke_id: int
    session_id: int
    number: int
    kept_at: datetime
    player: str
    source: str
    record: StrokeRecord
    faults: tuple[Fault, ...]
    cues: tuple[Cue, ...]
    settings: Settings
    software: str


@dataclass(frozen=True)
class StrokeLine:
    """One stroke for a list: no raw signals."""

    stroke_id: int
    session_id: int
    number: int
    kept_at: datetime
    player: str
    source: str
    kind: str
    measures: Mapping[str, Measure]
    faults: tuple[Fault, ...]
    unsure: tuple[str, ...] | None = None  # faults that could not be judged; None: not known
    went: Where | None = None  # the ball, as the player said; None: not said


class Store:
    """The open record. May be called from several threads, one call at a time.

    Every method raises StoreError (locked, disk full, damaged), and then nothing of that call is kept.
    """

    def __init__(self, folder: Path, software: str, busy_s: float = 2.0, only_to_read: bool = False) -> None:
        """folder: made if need be; software: version written beside each verdict; busy_s: wait for another program;
        only_to_read: it is opened where nothing may be written, too.
        """
        self.path = ensure_folder(folder) / FILE_NAME
        self._software = software
        self._lock = threading.Lock()
        self._db = open_database(self.path, busy_s, only_to_read)

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """May be called twice. What was kept is safe without it."""
        with self._lock, translate_errors(self.path):
            self._db.close()

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """The database for the store's other modules; failures become StoreError."""
        with self._lock, translate_errors(self.path):
            yield self._db

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """The same inside one transaction: all of it is kept, and on the disk, or nothing."""
        with self.reading() as db, transaction(db):
            yield db

    @contextmanager
    def snapshot(self) -> Iterator[sqlite3.Connection]:
        """For reading the record as it stands now, whatever other programs keep meanwhile."""
        with self.reading() as db:
            db.execute("BEGIN")
            try:
                yield db
            finally:
                if db.in_transaction:  # SQLite itself ends it on some errors
                    db.execute("ROLLBACK")

    @contextmanager
    def alone(self) -> Iterator[None]:
        """While no other program has the record open; raises StoreError when one has, and then nothing was done."""
        with translate_errors(self.path), alone(self._db):
            yield

    def begin_session(self, player: str, source: str, started_at: datetime, student: str | None = None) -> int:
        """A new session's id. source: camera or clip, as the user named it; started_at: aware; student: the id."""
        with self.writing() as db:
            sql = "INSERT INTO main.sessions (started_at, player, source, uid, student) VALUES (?, ?, ?, ?, ?)"
            row = (utc(started_at), player, source, uuid.uuid4().hex, student or None)
            return int(db.execute(sql, row).lastrowid or 0)

    def keep(
        self,
        session_id: int,
        record: StrokeRecord,
        faults: Sequence[Fault],
        cues: Sequence[Cue],
        settings: Settings,
        kept_at: datetime,
        made: Made = FREE,
    ) -> int:
        """Commits one stroke, its verdict and the settings that gave it; returns its number in the session.

        When this returns the stroke is on the disk: only then may its result be shown.
        """
        block = pack(record.signals)
        body = json.dumps(settings.values(), sort_keys=True)
        with self._lock, translate_errors(self.path), transaction(self._db):
            db = self._db
            db.execute("INSERT OR IGNORE INTO main.settings (body) VALUES (?)", (body,))
            settings_id = db.execute("SELECT id FROM settings WHERE body = ?", (body,)).fetchone()[0]
            uid, at = uuid.uuid4().hex, utc(kept_at)
            new = NewStroke(session_id, settings_id, uid, at, self._software, record, block, faults, cues, None, made)
            return insert_stroke(db, new)

    def newest(self, session_id: int) -> int:
        """Id of the last stroke of a session. Raises StoreError when it has none."""
        sql = "SELECT id FROM strokes WHERE session_id = ? ORDER BY number DESC LIMIT 1"
        with self.reading() as db:
            row = db.execute(sql, (session_id,)).fetchone()
        if row is None:
            raise StoreError(
                tr("session {session_id} has no stroke", session_id=session_id),
                str(self.path),
                tr("`strokes` lists them"),
            )
        return int(row[0])

    def note_felt(self, session_id: int, felt: bool) -> None:
        """What the player said of the newest stroke of a session, before its result was shown."""
        newest = "(SELECT max(number) FROM strokes WHERE session_id = ?)"
        with self.writing() as db:
            sql = f"UPDATE main.strokes SET felt = ? WHERE session_id = ? AND number = {newest}"
            db.execute(sql, (int(felt), session_id, session_id))

    def recent(self, count: int, player: str | None = None) -> list[StrokeLine]:
        """The last ``count`` strokes that count, newest first; of one player if named."""
        sql = (
            "SELECT s.id, s.session_id, s.number, s.kept_at, n.player, n.source, s.kind, s.unsure, o.went"
            " FROM strokes s JOIN sessions n ON n.id = s.session_id LEFT JOIN outcomes o ON o.stroke = s.uid"
            f" {WITH_TIME} WHERE (? IS NULL OR n.player = ?) AND {COUNTED}"
            f" ORDER BY {NEWEST_FIRST} LIMIT ?"
        )
        with self._lock, translate_errors(self.path):
            rows = self._db.execute(sql, (player, player, count)).fetchall()
            return [
                StrokeLine(
                    i,
                    session,
                    number,
                    datetime.fromisoformat(at),
                    who,
                    what,
                    kind,
                    self._measures(i),
                    self._faults(i),
                    None if doubt is None else tuple(doubt.split()),
                    went,
                )
                for i, session, number, at, who, what, kind, doubt, went in rows
            ]

    def stroke(self, stroke_id: int) -> KeptStroke:
        """One stroke, whole. Raises StoreError when there is none of that id, or it is damaged."""
        sql = (
            "SELECT s.session_id, s.number, s.kept_at, n.player, n.source, s.kind, s.view, s.software, t.body,"
            f" s.signals, {CONTEXT_COLUMNS} FROM strokes s"
            " JOIN sessions n ON n.id = s.session_id JOIN settings t ON t.id = s.settings_id WHERE s.id = ?"
        )
        with self._lock, translate_errors(self.path):
            row = self._db.execute(sql, (stroke_id,)).fetchone()
            if row is None:
                raise StoreError(
                    tr("there is no stroke {stroke_id}", stroke_id=stroke_id),
                    str(self.path),
                    tr("`strokes` lists them"),
                )
            events = self._rows("SELECT name, time_s FROM events", stroke_id)
            cues = self._rows("SELECT name, at_s FROM cues", stroke_id)
            measures, faults = self._measures(stroke_id), self._faults(stroke_id)
        session_id, number, kept_at, player, source, kind, view, software, body, block, *context = row
        signals = unpack(block, f"{self.path}: stroke {stroke_id}")
        record = StrokeRecord(kind, Events.of(dict(events)), measures, signals, view, context_of_row(context))
        return KeptStroke(
            stroke_id,
            session_id,
            number,
            datetime.fromisoformat(kept_at),
            player,
            source,
            record,
            faults,
            tuple(Cue(*cue) for cue in cues),
            _settings(body, self.path),
            software,
        )

    def _rows(self, select: str, stroke_id: int) -> list[Any]:
        return self._db.execute(f"{select} WHERE stroke_id = ? ORDER BY place", (stroke_id,)).fetchall()

    def _measures(self, stroke_id: int) -> dict[str, Measure]:
        rows = self._rows("SELECT name, value, unit, confidence, reason FROM measures", stroke_id)
        return {name: Measure(*rest) for name, *rest in rows}

    def _faults(self, stroke_id: int) -> tuple[Fault, ...]:
        rows = self._rows("SELECT name, at_s, value, unit, limit_value FROM faults", stroke_id)
        return tuple(Fault(*row) for row in rows)


def utc(moment: datetime) -> str:
    """As times are kept: UTC, ISO 8601."""
    return moment.astimezone(timezone.utc).isoformat()


def _settings(body: str, path: Path) -> Settings:
    try:
        return Settings.checked(json.loads(body))
    except ValueError:  # pydantic's ValidationError is one
        raise StoreError(
            tr("was judged with settings that this version does not know"), str(path), tr("judge it anew")
        ) from None
