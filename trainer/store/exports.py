"""Which export files hold what of a student, so that erasing can say what is in none."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Collection

from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store, utc


@dataclass(frozen=True, slots=True)
class InExports:
    """items: uids and names of what is in any export file; last: where the newest was written, or read from."""

    items: Collection[str] = frozenset()
    last: Path | None = None


def note_export(store: Store, student: str, at: datetime, path: Path, items: Collection[str]) -> None:
    """Keeps that an export file holds these."""
    row = (student, utc(at), str(path), json.dumps(sorted(items)))
    with store.writing() as db:
        db.execute("INSERT INTO main.exports (student, at, path, body) VALUES (?, ?, ?, ?)", row)


def in_exports(store: Store, student: str) -> InExports:
    """Of all export files of a student that are known here."""
    items: set[str] = set()
    last = None
    with store.reading() as db:
        for path, body in db.execute("SELECT path, body FROM exports WHERE student = ? ORDER BY id", (student,)):
            items.update(json.loads(body))
            last = Path(path)
    return InExports(items, last)


@dataclass(frozen=True, slots=True)
class RecordItems:
    """Uids of all that the record holds of a student."""

    strokes: frozenset[str]
    distances: frozenset[str]


def record_items(store: Store, student_key: StudentKey) -> RecordItems:
    """Strokes, and greens and putts of the distance scale."""
    player = (student_key.player,)
    with store.reading() as db:
        strokes = db.execute(
            f"SELECT s.uid FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE}", student_key.query()
        ).fetchall()
        distances = [
            row
            for table in ("distance_greens", "distance_putts")
            for row in db.execute(f"SELECT uid FROM {table} WHERE player = ?", player)
        ]
    return RecordItems(frozenset(uid for (uid,) in strokes), frozenset(uid for (uid,) in distances))
