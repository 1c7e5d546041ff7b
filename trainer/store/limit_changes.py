"""Every change of a student's limits: who set what, when, why, and upon which limits."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from typing import Any, Mapping, Sequence

from trainer.store.store import Store

BEFORE = "before"  # as the reason of a change: nobody's, it says what stood before


@dataclass(frozen=True, slots=True)
class LimitChange:
    """limits: as Settings.values()["limits"] gives them, from ``at`` (UTC, ISO 8601) on; before: those that the change
    was made upon, None: not known. In the record and in export files a row of its own holds them, with a uid made of this one's.
    """

    uid: str
    student: str
    at: str
    who: str
    why: str
    limits: Mapping[str, Any]
    before: Mapping[str, Any] | None = None


def is_beginning(change: LimitChange) -> bool:
    """What stood before the first change: set by nobody, at no known time."""
    return not change.who and change.why == BEFORE


def note_limits(store: Store, change: LimitChange) -> None:
    """Keeps who set which limits, when and why."""
    with store.writing() as db:
        insert_change(db, change)


def insert_change(db: Any, change: LimitChange) -> None:
    """Inside a transaction; of a change that is there already what stood before it is renewed."""
    sql = "INSERT INTO main.limit_changes VALUES (?, ?, ?, ?, ?, ?)"
    sql += " ON CONFLICT (uid) DO UPDATE SET body = excluded.body WHERE student = excluded.student"
    for row in rows_of(change):
        body = json.dumps(row.limits, sort_keys=True)
        db.execute(sql, (row.uid, row.student, row.at, row.who, row.why, body))


def rows_of(change: LimitChange) -> tuple[LimitChange, ...]:
    """A change as it is kept: what it was made upon, where that is known, and the change."""
    if change.before is None:
        return (change,)
    before = LimitChange(_uid_before(change.uid), change.student, change.at, "", BEFORE, change.before)
    return before, replace(change, before=None)


def changes_of(rows: Sequence[LimitChange]) -> list[LimitChange]:
    """The changes that such rows hold, oldest first."""
    by_uid = {row.uid: row for row in rows}
    before = {_uid_before(uid) for uid in by_uid}
    out = []
    for row in sorted(rows, key=lambda row: (row.at, row.uid)):
        if row.uid not in before:
            found = by_uid.get(_uid_before(row.uid))
            out.append(row if found is None else replace(row, before=found.limits))
    return out


def _uid_before(uid: str) -> str:
    return hashlib.sha256(f"before {uid}".encode()).hexdigest()[:32]


def limit_changes(store: Store, student: str) -> list[LimitChange]:
    """All changes of a student's limits, oldest first."""
    with store.reading() as db:
        return limit_changes_in(db, student)


def limit_changes_in(db: Any, student: str) -> list[LimitChange]:
    """The same inside a transaction."""
    sql = "SELECT uid, student, at, who, why, body FROM limit_changes WHERE student = ?"
    rows = db.execute(sql, (student,)).fetchall()
    return changes_of(
        [LimitChange(uid, whom, at, who, why, json.loads(body)) for uid, whom, at, who, why, body in rows]
    )
