"""Which cards a student has been shown: each shows itself once."""

from __future__ import annotations

from datetime import datetime

from trainer.store.store import Store, utc


def cards_shown(store: Store, student: str) -> frozenset[str]:
    """Names. student: the id, or the name of one who has none."""
    with store.reading() as db:
        rows = db.execute("SELECT card FROM reasons_shown WHERE student = ?", (student,)).fetchall()
    return frozenset(row[0] for row in rows)


def note_shown(store: Store, student: str, card: str, at: datetime) -> None:
    """A second time changes nothing."""
    with store.writing() as db:
        db.execute("INSERT OR IGNORE INTO main.reasons_shown VALUES (?, ?, ?)", (student, card, utc(at)))
