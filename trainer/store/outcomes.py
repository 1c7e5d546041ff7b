"""Where the ball of a stroke went, as the player said."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from trainer.domain.outcome import PuttOutcome
from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store, utc


def note_outcome(store: Store, stroke: str, outcome: PuttOutcome, at: datetime) -> None:
    """stroke: uid. What was said before of it is replaced."""
    with store.writing() as db:
        insert_outcome(db, stroke, outcome, utc(at))


def insert_outcome(db: Any, stroke: str, outcome: PuttOutcome, at: str) -> None:
    """Inside a transaction."""
    db.execute("INSERT OR REPLACE INTO main.outcomes VALUES (?, ?, ?, ?)", (stroke, outcome.where, outcome.putt_m, at))


def outcomes_of(store: Store, student_key: StudentKey) -> dict[str, tuple[PuttOutcome, str]]:
    """Stroke's uid -> (where its ball went, when that was said)."""
    sql = (
        "SELECT o.stroke, o.went, o.putt_m, o.at FROM outcomes o JOIN strokes s ON s.uid = o.stroke"
        f" JOIN sessions n ON n.id = s.session_id WHERE {WHOSE} ORDER BY s.kept_at, s.id"
    )
    with store.reading() as db:
        rows = db.execute(sql, student_key.query()).fetchall()
    return {uid: (PuttOutcome(where, putt_m), at) for uid, where, putt_m, at in rows}


def outcome_of(store: Store, stroke_id: int) -> PuttOutcome | None:
    """Of one stroke; None: it was not said."""
    sql = "SELECT o.went, o.putt_m FROM outcomes o JOIN strokes s ON s.uid = o.stroke WHERE s.id = ?"
    with store.reading() as db:
        row = db.execute(sql, (stroke_id,)).fetchone()
    return None if row is None else PuttOutcome(row[0], row[1])


def newest_ball_stroke(store: Store, session_id: int) -> str | None:
    """Uid of the last stroke of a session, if it was one with a ball."""
    sql = "SELECT uid, kind FROM strokes WHERE session_id = ? ORDER BY number DESC LIMIT 1"
    with store.reading() as db:
        row = db.execute(sql, (session_id,)).fetchone()
    return str(row[0]) if row is not None and row[1] == "ball" else None
