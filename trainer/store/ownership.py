"""Whose the record's rows are: taken over by a student, renamed with him, taken out whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trainer.domain.naming import folded
from trainer.store.history import WHOSE, StudentKey, counts
from trainer.store.soundness import hide_unsound, show_all
from trainer.store.store import Store

# Kept by id, by name without one.
STUDENT_TABLES = ("exports", "reasons_shown", "homework", "lessons", "removed_strokes", "student_ids")
DISTANCE_TABLES = ("distance_players", "distance_greens", "distance_putts")  # kept by name


def adopt(store: Store, student_key: StudentKey) -> int:
    """Gives the sessions that go by the student's name only the student's id. How many they were."""
    with store.writing() as db:
        _rename_distances(db, student_key.player, student_key.player)
        sql = "UPDATE main.sessions SET student = :student, player = :name"
        sql += " WHERE student IS NULL AND folded(player) = :player"
        return int(db.execute(sql, {**student_key.query(), "name": student_key.player}).rowcount)


def rename_player(store: Store, student_key: StudentKey, name: str) -> None:
    """The sessions' name follows the student's."""
    with store.writing() as db:
        db.execute("UPDATE main.sessions SET player = ? WHERE student = ?", (name, student_key.student))
        _rename_distances(db, student_key.player, name)


def _rename_distances(db: Any, player: str, name: str) -> None:
    """The student's own choice of unit stands before one that was made under the new name."""
    for table in DISTANCE_TABLES:
        same = "folded(player) = ? AND player <> ?"
        db.execute(f"UPDATE OR REPLACE main.{table} SET player = ? WHERE {same}", (name, folded(player), name))


@dataclass(frozen=True, slots=True)
class Erased:
    """What was taken out of the record."""

    sessions: int
    strokes: int
    settings: int
    limit_changes: int
    distances: int


def erase(store: Store, student_key: StudentKey) -> Erased:
    """Takes everything of a student out of the record, and out of the file's bytes: what is deleted is overwritten.

    The store must be ``alone``.
    """
    before = counts(store, student_key)
    with store.reading() as db:
        db.execute("PRAGMA secure_delete = ON")
    with store.writing() as db:
        db.execute(f"DELETE FROM main.sessions AS n WHERE {WHOSE}", student_key.query())
        distances = sum(
            db.execute(f"DELETE FROM main.{table} WHERE folded(player) = ?", (folded(student_key.player),)).rowcount
            for table in DISTANCE_TABLES
        )
        left = "DELETE FROM main.settings WHERE id NOT IN (SELECT settings_id FROM main.strokes)"
        settings = db.execute(left).rowcount
        changes = db.execute("DELETE FROM main.limit_changes WHERE student = ?", (student_key.student,)).rowcount
        for table in STUDENT_TABLES:
            whose = (student_key.student or student_key.player, folded(student_key.player))
            db.execute(f"DELETE FROM main.{table} WHERE student = ? OR folded(student) = ?", whose)
    with store.reading() as db:
        show_all(db)
        db.execute("VACUUM")  # the pages that a deletion left half empty may still hold old bytes
        hide_unsound(db)
    return Erased(before.sessions, before.strokes, int(settings), int(changes), distances)
