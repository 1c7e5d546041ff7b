"""Sessions and the strokes in them, for choosing one: no signals, no measures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store


@dataclass(frozen=True, slots=True)
class StrokeRow:
    """number: in its session, from 1."""

    stroke_id: int
    number: int
    kept_at: datetime
    kind: str
    view: str


@dataclass(frozen=True, slots=True)
class SessionRows:
    """A session that has strokes, in order. student: the id, empty where there is none."""

    session_id: int
    player: str
    student: str
    strokes: tuple[StrokeRow, ...]


def sessions(store: Store, back: int, student_key: StudentKey | None = None) -> list[SessionRows]:
    """The newest ``back`` sessions that have strokes, newest first; of one student if given."""
    where, query = (WHOSE, student_key.query()) if student_key is not None else ("1", {})
    with store.reading() as db:
        found = db.execute(
            f"SELECT n.id, n.player, n.student FROM sessions n JOIN strokes s ON s.session_id = n.id WHERE {where}"
            " GROUP BY n.id ORDER BY max(s.id) DESC LIMIT :back",
            {**query, "back": back},
        ).fetchall()
        out = []
        for session_id, player, student in found:
            sql = "SELECT id, number, kept_at, kind, view FROM strokes WHERE session_id = ? ORDER BY number"
            rows = tuple(
                StrokeRow(i, number, datetime.fromisoformat(at), kind, view)
                for i, number, at, kind, view in db.execute(sql, (session_id,))
            )
            out.append(SessionRows(int(session_id), player, student or "", rows))
    return out
