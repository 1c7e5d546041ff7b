"""A student's file and what follows it in the record: the id that sessions hang on, and every change of the limits."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any, Mapping

from trainer.app.clock import now
from trainer.app.context import RunContext
from trainer.settings.limits import Limits
from trainer.store.history import StudentKey
from trainer.store.limit_changes import BEFORE, LimitChange, limit_changes, note_limits
from trainer.store.limit_lines import as_recorded, flat, nested
from trainer.store.store import Store, utc
from trainer.store.students import StudentFile, Students
from trainer.store.video import folder_of


@dataclass(frozen=True, slots=True)
class Decision:
    """Who set limits, and why; for the record."""

    who: str = ""
    why: str = ""


BEGINNING = datetime.fromtimestamp(0, timezone.utc)
BY_HAND = Decision("", "edited in the student's file")


def files_of(base: Path, student_id: str) -> Path:
    """Folder of a student's pictures and videos."""
    return folder_of(base, student_id)


def student_key(student: StudentFile) -> StudentKey:
    return StudentKey(student.card.id, student.name)


def with_id(students: Students, student: StudentFile) -> StudentFile:
    """The same student with an id, made now if the file was written by hand."""
    return student if student.card.id else students.change(student, {"student.id": uuid.uuid4().hex})


def limit_values(limits: Limits) -> dict[str, Any]:
    """As a settings file has them."""
    return limits.model_dump()


def set_values(
    context: RunContext, student: StudentFile, changes: Mapping[str, Any], decision: Decision
) -> StudentFile:
    """Writes the values (None: the key is taken out); where limits are among them, the record gets the decision."""
    at = now()
    limits = any(key.startswith("limits.") for key in changes)
    stamps: dict[str, Any] = {"student.changed_at": utc(at)}
    if limits:
        stamps |= {
            "student.limits_at": utc(at),
            "student.limits_by": decision.who,
            "student.limits_why": decision.why,
        }
    with context.open_store() as store:  # opened first: a record that cannot be written stops the change as well
        changed = Students(context.base).change(student, {**changes, **stamps})
        if limits:
            _note_what_stood(store, student, at)
            before, after = limit_values(student.settings.limits), limit_values(changed.settings.limits)
            note_limits(store, limit_change(student.card.id, at, decision, after, before))
    return changed


def limit_change(
    student_id: str, at: datetime, decision: Decision, limits: Mapping[str, Any], before: Mapping[str, Any] | None
) -> LimitChange:
    """A new one. before: what it was made upon."""
    return LimitChange(uuid.uuid4().hex, student_id, utc(at), decision.who, decision.why, limits, before)


def _note_what_stood(store: Store, student: StudentFile, at: datetime) -> None:
    """What the record does not know yet of the limits in the file: those at first, or what was edited by hand."""
    changes, now_set = limit_changes(store, student.card.id), limit_values(student.settings.limits)
    if not changes:
        note_limits(store, limit_change(student.card.id, BEGINNING, Decision("", BEFORE), now_set, None))
        return
    known = nested(as_recorded(changes, flat(now_set)))
    if known != now_set:
        just_before = at - timedelta(microseconds=1)
        note_limits(store, limit_change(student.card.id, just_before, BY_HAND, now_set, known))
