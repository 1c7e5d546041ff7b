"""Homework that was set, and the strokes that were made in drills."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Sequence

from trainer.coaching.homework import DrillStroke, Homework
from trainer.settings.drill_names import present_id
from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store, utc
from trainer.store.stroke_rows import COUNTED

_COLUMNS = "uid, drill, strokes, days_a_week, from_day, until_day, set_at, who, note, distance_m, dropped_at"


def keep_homework(store: Store, student: str, homework: Homework) -> None:
    """student: the id. New, or changed: the same uid takes the place of what was kept."""
    with store.writing() as db:
        insert_homework(db, student, homework)


def insert_homework(db: Any, student: str, homework: Homework) -> None:
    """Inside a transaction."""
    row = (
        homework.uid,
        homework.drill,
        homework.strokes,
        homework.days_a_week,
        homework.from_day.isoformat(),
        homework.until.isoformat(),
        utc(homework.set_at),
        homework.who,
        homework.note,
        homework.distance_m,
        None if homework.dropped_at is None else utc(homework.dropped_at),
        student,
    )
    db.execute(f"INSERT OR REPLACE INTO main.homework ({_COLUMNS}, student) VALUES ({', '.join('?' * len(row))})", row)


def homework_of(store: Store, student: str) -> list[Homework]:
    """All that was ever set for a student, oldest first."""
    with store.reading() as db:
        rows = db.execute(
            f"SELECT {_COLUMNS} FROM homework WHERE student = ? ORDER BY set_at, uid", (student,)
        ).fetchall()
    return [_homework(row) for row in rows]


def _homework(row: Sequence[Any]) -> Homework:
    uid, drill, strokes, days, first, until, set_at, who, note, far, dropped = row
    return Homework(
        uid,
        present_id(drill),
        int(strokes),
        int(days),
        date.fromisoformat(first),
        date.fromisoformat(until),
        datetime.fromisoformat(set_at),
        who,
        note,
        far,
        None if dropped is None else datetime.fromisoformat(dropped),
    )


def drill_strokes(store: Store, student_key: StudentKey) -> list[DrillStroke]:
    """Every stroke that a student made in a drill, in local time."""
    with store.reading() as db:
        rows = db.execute(
            "SELECT s.kept_at, s.kind, s.drill FROM strokes s JOIN sessions n ON n.id = s.session_id"
            f" WHERE {WHOSE} AND {COUNTED} AND s.drill IS NOT NULL ORDER BY s.kept_at",
            student_key.query(),
        ).fetchall()
    return [DrillStroke(datetime.fromisoformat(at).astimezone(), kind, present_id(drill)) for at, kind, drill in rows]
