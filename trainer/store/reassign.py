"""Strokes that were recorded under a wrong name: given to the right student, or taken out of the record."""

from __future__ import annotations

import json
import uuid
from datetime import datetime
from typing import Any, Iterable, Sequence

from trainer.domain.naming import folded
from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store, utc

SAME_S = 120.0  # two cameras keep the same stroke within that


def uids_of(store: Store, ids: Iterable[int]) -> list[str]:
    """The strokes' own numbers, the same in every record."""
    with store.reading() as db:
        return [str(db.execute("SELECT uid FROM strokes WHERE id = ?", (i,)).fetchone()[0]) for i in ids]


def with_other_camera(store: Store, whose: StudentKey, ids: Sequence[int]) -> list[int]:
    """These strokes, and the same ones as the other of two cameras saw them."""
    sql = (
        "SELECT s.id FROM strokes t JOIN sessions m ON m.id = t.session_id, strokes s JOIN sessions n ON n.id = s.session_id"
        f" WHERE t.id = :one AND {WHOSE} AND s.camera <> t.camera"
        " AND ((s.other_session = m.id AND s.other_stroke = t.number) OR (t.other_session = n.id AND t.other_stroke = s.number))"
        " AND abs(julianday(s.kept_at) - julianday(t.kept_at)) * 86400 < :within"  # an imported stroke's are another record's
    )
    found = list(ids)
    with store.reading() as db:
        for one in ids:
            found += [i for (i,) in db.execute(sql, {**whose.query(), "one": one, "within": SAME_S})]
    return sorted(set(found))


def give(store: Store, ids: Sequence[int], to: StudentKey) -> None:
    """Strokes of whomever become this student's, with their roll-outs, in a session of that day.

    The session they were in stays, as practice may be going on in it.
    """
    with store.writing() as db:
        for stroke_id in ids:
            _give(db, stroke_id, to)
        drop_settings(db)


def _give(db: Any, stroke_id: int, to: StudentKey) -> None:
    session, number, settings, uid, started_at, source = db.execute(
        "SELECT s.session_id, s.number, s.settings_id, s.uid, n.started_at, n.source FROM main.strokes s"
        " JOIN main.sessions n ON n.id = s.session_id WHERE s.id = ?",
        (stroke_id,),
    ).fetchone()
    target = _session_of(db, to, started_at, source)
    taken = {n for (n,) in db.execute("SELECT number FROM main.strokes WHERE session_id = ?", (target,))}
    there = number if number not in taken else max(taken) + 1
    row = (target, there, settings_named(db, settings, to.player), stroke_id)
    db.execute("UPDATE main.strokes SET session_id = ?, number = ?, settings_id = ? WHERE id = ?", row)
    sql = "UPDATE main.strokes SET other_session = ?, other_stroke = ? WHERE other_session = ? AND other_stroke = ?"
    db.execute(sql, (target, there, session, number))
    db.execute("UPDATE main.distance_putts SET player = ? WHERE stroke_id = ?", (to.player, stroke_id))
    db.execute("UPDATE main.lesson_tries SET stroke = NULL WHERE stroke = ?", (uid,))


def _session_of(db: Any, to: StudentKey, started_at: str, source: str) -> int:
    """The student's session of that moment, made where there is none."""
    sql = "SELECT id FROM main.sessions WHERE student = ? AND started_at = ? AND source = ? ORDER BY id"
    found = db.execute(sql, (to.student, started_at, source)).fetchone()
    if found is not None:
        return int(found[0])
    sql = "INSERT INTO main.sessions (started_at, player, source, uid, student) VALUES (?, ?, ?, ?, ?)"
    return int(db.execute(sql, (started_at, to.player, source, uuid.uuid4().hex, to.student)).lastrowid or 0)


def settings_named(db: Any, settings: int, name: str) -> int:
    """The same settings with another player's name in them."""
    body = json.loads(db.execute("SELECT body FROM main.settings WHERE id = ?", (settings,)).fetchone()[0])
    text = json.dumps({**body, "player": {**body.get("player", {}), "name": name}}, sort_keys=True)
    db.execute("INSERT OR IGNORE INTO main.settings (body) VALUES (?)", (text,))
    return int(db.execute("SELECT id FROM main.settings WHERE body = ?", (text,)).fetchone()[0])


def drop_settings(db: Any) -> None:
    """Those that no stroke was judged by any more."""
    db.execute("DELETE FROM main.settings WHERE id NOT IN (SELECT settings_id FROM main.strokes)")


def take_out(store: Store, ids: Sequence[int], whose: StudentKey, at: datetime) -> None:
    """Strokes go with all that hangs on them; what remains is that they are not to come back."""
    with store.writing() as db:
        for stroke_id in ids:
            uid = db.execute("SELECT uid FROM main.strokes WHERE id = ?", (stroke_id,)).fetchone()[0]
            row = (uid, whose.student or whose.player, utc(at))
            db.execute("INSERT OR REPLACE INTO main.removed_strokes VALUES (?, ?, ?)", row)
            db.execute("DELETE FROM main.distance_putts WHERE stroke_id = ?", (stroke_id,))
            db.execute("UPDATE main.lesson_tries SET stroke = NULL WHERE stroke = ?", (uid,))
            db.execute("DELETE FROM main.strokes WHERE id = ?", (stroke_id,))
        drop_settings(db)


def is_taken_out(db: Any, uid: str) -> bool:
    """Inside a transaction."""
    return db.execute("SELECT 1 FROM main.removed_strokes WHERE stroke = ?", (uid,)).fetchone() is not None


def is_on_record(store: Store, player: str) -> bool:
    """Whether there are strokes of that name that belong to no student."""
    sql = "SELECT 1 FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE n.student IS NULL AND folded(n.player) = ?"
    with store.reading() as db:
        return db.execute(f"{sql} LIMIT 1", (folded(player),)).fetchone() is not None
