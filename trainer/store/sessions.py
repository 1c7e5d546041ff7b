"""Sessions and the strokes in them, for choosing one: no signals, no measures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from trainer.domain.naming import StrokeNumber, stroke_name
from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store

MANY = 1_000_000  # sessions: all of them


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
    started_at: datetime
    player: str
    student: str
    strokes: tuple[StrokeRow, ...]


@dataclass(frozen=True, slots=True)
class StrokePlace:
    """Where a stroke stands. session_at: when its session began."""

    session_at: datetime
    chosen: StrokeNumber

    @property
    def which(self) -> str:
        """As `--stroke` takes it."""
        return str(self.chosen)

    def name(self, today: date) -> str:
        """As it is called everywhere."""
        return stroke_name(self.session_at, self.chosen.number, today)


def sessions(store: Store, back: int, student_key: StudentKey | None = None) -> list[SessionRows]:
    """The newest ``back`` sessions that have strokes, newest first; of one student if given."""
    where, query = (WHOSE, student_key.query()) if student_key is not None else ("1", {})
    with store.reading() as db:
        found = db.execute(
            f"SELECT n.id, n.started_at, n.player, n.student FROM sessions n JOIN strokes s ON s.session_id = n.id WHERE {where}"
            " GROUP BY n.id ORDER BY max(s.kept_at) DESC, n.id DESC LIMIT :back",
            {**query, "back": back},
        ).fetchall()
        out = []
        for session_id, started_at, player, student in found:
            sql = "SELECT id, number, kept_at, kind, view FROM strokes WHERE session_id = ? ORDER BY number"
            rows = tuple(
                StrokeRow(i, number, datetime.fromisoformat(at), kind, view)
                for i, number, at, kind, view in db.execute(sql, (session_id,))
            )
            began = datetime.fromisoformat(started_at)
            out.append(SessionRows(int(session_id), began, player, student or "", rows))
    return out


def stroke_places(store: Store, student_key: StudentKey | None = None) -> dict[int, StrokePlace]:
    """Every stroke's, by its id: among all sessions, or those of one student."""
    return {
        row.stroke_id: StrokePlace(session.started_at, StrokeNumber(back, row.number))
        for back, session in enumerate(sessions(store, MANY, student_key), 1)
        for row in session.strokes
    }


def stroke_chosen(store: Store, student_key: StudentKey | None, chosen: StrokeNumber) -> int | None:
    """Its id; None: there is none."""
    places = stroke_places(store, student_key)
    return next((stroke_id for stroke_id, place in places.items() if place.chosen == chosen), None)
