"""Lessons, with what was tried in them."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from trainer.coaching.lesson.lesson import Lesson, Try
from trainer.store.store import Store, utc

_COLUMNS = (
    "uid, begun_at, changed_at, who, before_session, after_session, priority, priority_by, why, later, words, homework,"
    " ended_at"
)


def keep_lesson(store: Store, student: str, lesson: Lesson) -> None:
    """student: the id. A lesson of the same uid is replaced, with all that was tried in it."""
    with store.writing() as db:
        insert_lesson(db, student, lesson)


def insert_lesson(db: Any, student: str, lesson: Lesson) -> None:
    """Inside a transaction."""
    row = (
        lesson.uid,
        utc(lesson.begun_at),
        utc(lesson.changed_at),
        lesson.who,
        " ".join(lesson.before),
        " ".join(lesson.after),
        lesson.priority,
        lesson.priority_by,
        lesson.why,
        json.dumps(lesson.later),
        lesson.words,
        lesson.homework,
        None if lesson.ended_at is None else utc(lesson.ended_at),
        student,
    )
    db.execute("DELETE FROM main.lessons WHERE uid = ?", (lesson.uid,))
    db.execute(f"INSERT INTO main.lessons ({_COLUMNS}, student) VALUES ({', '.join('?' * len(row))})", row)
    for one in lesson.tries:
        db.execute(
            "INSERT INTO main.lesson_tries VALUES (?, ?, ?, ?, ?, ?)",
            (one.uid, lesson.uid, utc(one.at), one.note, one.stroke, one.picture),
        )


def lessons_of(store: Store, student: str) -> list[Lesson]:
    """Oldest first."""
    with store.reading() as db:
        rows = db.execute(
            f"SELECT {_COLUMNS} FROM lessons WHERE student = ? ORDER BY begun_at, uid", (student,)
        ).fetchall()
        tries = {
            row[0]: db.execute(
                "SELECT uid, at, note, stroke, picture FROM lesson_tries WHERE lesson = ? ORDER BY at, uid", (row[0],)
            ).fetchall()
            for row in rows
        }
    out = []
    for uid, begun, changed, who, before, after, priority, by, why, later, words, homework, ended in rows:
        tried = tuple(Try(one, datetime.fromisoformat(at), *rest) for one, at, *rest in tries[uid])
        out.append(
            Lesson(
                uid,
                datetime.fromisoformat(begun),
                datetime.fromisoformat(changed),
                who,
                tuple((before or "").split()),
                tuple((after or "").split()),
                priority,
                by,
                why,
                tuple(json.loads(later)),
                words,
                homework,
                None if ended is None else datetime.fromisoformat(ended),
                tried,
            )
        )
    return out


def newest_stroke(store: Store, session_uid: str) -> str | None:
    """Uid of the last stroke of a session."""
    sql = "SELECT s.uid FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE n.uid = ? ORDER BY s.number DESC LIMIT 1"
    with store.reading() as db:
        row = db.execute(sql, (session_uid,)).fetchone()
    return None if row is None else str(row[0])


def session_uid(store: Store, session_id: int) -> str:
    """Of a session of this record."""
    with store.reading() as db:
        return str(db.execute("SELECT uid FROM sessions WHERE id = ?", (session_id,)).fetchone()[0])
