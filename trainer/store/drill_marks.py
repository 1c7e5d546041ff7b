"""How strokes of a drill's silent tests were, by the drill's rule."""

from __future__ import annotations

from datetime import date, datetime

from trainer.settings.drill_names import present_id
from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store
from trainer.store.stroke_rows import COUNTED


def silent_marks(store: Store, student_key: StudentKey, drill_id: str) -> list[tuple[date, bool | None]]:
    """(local day, good or not, None: could not be judged), oldest first. Strokes of earlier releases are not judged so."""
    with store.reading() as db:
        rows = db.execute(
            "SELECT s.kept_at, s.drill, s.good FROM strokes s JOIN sessions n ON n.id = s.session_id"
            f" WHERE {WHOSE} AND {COUNTED} AND s.stage = 'silent' AND s.drill IS NOT NULL AND s.unsure IS NOT NULL"
            " AND s.told IS NOT 1 ORDER BY s.kept_at, s.id",
            student_key.query(),
        ).fetchall()
    return [
        (datetime.fromisoformat(at).astimezone().date(), None if good is None else bool(good))
        for at, drill, good in rows
        if present_id(drill) == drill_id
    ]
