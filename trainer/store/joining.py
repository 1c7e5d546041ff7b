"""One student who was two: on two computers, or here. The ids that such a student goes by, and the record put together."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Iterable

from trainer.domain.naming import folded
from trainer.store.history import StudentKey
from trainer.store.limit_changes import insert_change, limit_changes_in
from trainer.store.limit_lines import united
from trainer.store.ownership import DISTANCE_TABLES
from trainer.store.reassign import drop_settings, settings_named
from trainer.store.store import Store

_BY_ID = ("exports", "homework", "lessons", "removed_strokes", "limit_changes", "student_ids")


def id_here(store: Store, student: str) -> str:
    """The id that the student of this one has here, which may be the same."""
    with store.reading() as db:
        row = db.execute("SELECT student FROM student_ids WHERE id = ?", (student,)).fetchone()
    return student if row is None else str(row[0])


def other_ids(store: Store, student: str) -> list[str]:
    """The others of a student of this id."""
    with store.reading() as db:
        return [i for (i,) in db.execute("SELECT id FROM student_ids WHERE student = ? ORDER BY id", (student,))]


def note_ids(db: Any, student: str, ids: Iterable[str]) -> None:
    """Inside a transaction: the student of this id goes by these too."""
    for one in ids:
        if one != student:
            db.execute("INSERT OR REPLACE INTO main.student_ids VALUES (?, ?)", (one, student))


def join_records(db: Any, one: StudentKey, to: StudentKey) -> None:
    """Inside a transaction: all that is on record of one student becomes another's, whose unit of distances stays."""
    changes = united(limit_changes_in(db, to.student), limit_changes_in(db, one.student))
    theirs = "SELECT id FROM main.sessions WHERE student = ?"
    used = f"SELECT DISTINCT settings_id FROM main.strokes WHERE session_id IN ({theirs})"
    for (settings,) in db.execute(used, (one.student,)).fetchall():
        named = settings_named(db, settings, to.player)
        sql = f"UPDATE main.strokes SET settings_id = ? WHERE settings_id = ? AND session_id IN ({theirs})"
        db.execute(sql, (named, settings, one.student))
    drop_settings(db)
    db.execute(
        "UPDATE main.sessions SET student = ?, player = ? WHERE student = ?", (to.student, to.player, one.student)
    )
    db.execute(
        "DELETE FROM main.distance_players WHERE folded(player) = ?"
        " AND EXISTS (SELECT 1 FROM main.distance_players WHERE player = ?)",
        (folded(one.player), to.player),
    )
    for table in DISTANCE_TABLES:
        db.execute(f"UPDATE main.{table} SET player = ? WHERE folded(player) = ?", (to.player, folded(one.player)))
    for table in _BY_ID:
        db.execute(f"UPDATE main.{table} SET student = ? WHERE student = ?", (to.student, one.student))
    db.execute("UPDATE OR IGNORE main.reasons_shown SET student = ? WHERE student = ?", (to.student, one.student))
    db.execute("DELETE FROM main.reasons_shown WHERE student = ?", (one.student,))
    for change in changes:
        insert_change(db, replace(change, student=to.student))
    note_ids(db, to.student, [one.student])
