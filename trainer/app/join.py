"""One student made of two, who were the same person."""

from __future__ import annotations

import shutil
from pathlib import Path

from trainer.app.clock import now
from trainer.app.context import RunContext
from trainer.app.student_file import files_of, student_key, with_id
from trainer.app.transfer_merge import Here, OtherSide, merged_profile
from trainer.domain.printable import printable
from trainer.errors import StoreError, UsageError
from trainer.posture.snapshot_transfer import move_snapshots
from trainer.posture.snapshots import Snapshots
from trainer.store.history import counts
from trainer.store.joining import join_records
from trainer.store.limit_changes import limit_changes
from trainer.store.ownership import adopt
from trainer.store.students import StudentFile, Students
from trainer.texts import tr


def students_to_join(context: RunContext, name: str, into: str) -> tuple[StudentFile, StudentFile]:
    """Who goes and whose all of it becomes. Raises UsageError."""
    students = Students(context.base)
    one, to = students.find(name), students.find(into)
    if one.path == to.path:
        raise UsageError(tr("that is one student already"), printable(one.name), tr("name two"))
    return one, to


def join_students(context: RunContext, name: str, into: str) -> list[str]:
    """All of one student becomes another's, and the one is gone; lines that say so. Raises UsageError, StoreError.

    Each limit goes by its newest change, the rest of the profile follows the newer one, as when a file is imported.
    """
    students = Students(context.base)
    one, to = (with_id(students, student) for student in students_to_join(context, name, into))
    key, key_to = student_key(one), student_key(to)
    with context.open_store() as store:
        for adopted in (key, key_to):
            adopt(store, adopted)
        moved = counts(store, key)
        side = OtherSide(one.settings, one.card, tuple(limit_changes(store, key.student)))
        edits, _, notes = merged_profile(Here(to, tuple(limit_changes(store, key_to.student)), now()), side, None)
        with store.writing() as db:  # the file last: what the record refuses leaves it as it was
            join_records(db, key, key_to)
            if edits:
                students.change(to, edits)
    try:
        _move_files(files_of(context.base, key.student), files_of(context.base, key_to.student))
        one.path.unlink()
    except OSError as error:
        raise StoreError(
            tr("cannot be moved ({strerror})", strerror=error.strerror),
            str(one.path),
            tr("allow that and join once more"),
        ) from None
    line = tr(
        "{name} is {to} now: {strokes} strokes in {sessions} sessions came along",
        name=printable(one.name),
        to=printable(to.name),
        strokes=moved.strokes,
        sessions=moved.sessions,
    )
    return [line, *notes]


def _move_files(folder: Path, to: Path) -> None:
    """Kept postures and videos. Raises OSError, StoreError."""
    if not folder.is_dir():
        return
    move_snapshots(Snapshots(folder), Snapshots(to))
    to.mkdir(parents=True, exist_ok=True)
    for path in folder.iterdir():
        if path.is_file():
            path.replace(to / path.name)
    shutil.rmtree(folder)
