"""An export file taken in: what is new is added, nothing is lost."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.app.clock import now
from trainer.app.context import RunContext
from trainer.app.student_export import EXPORTED_TABLES, own_path
from trainer.app.student_file import files_of
from trainer.app.transfer_merge import Here, Incoming, LimitsSide, merged_profile, time_of
from trainer.domain.naming import folded
from trainer.domain.printable import printable
from trainer.errors import SettingsError, TransferError, UsageError
from trainer.posture.snapshot_transfer import add_snapshots, names_in, ready_snapshots
from trainer.posture.snapshots import Snapshots
from trainer.settings.drill_file import drill_of
from trainer.settings.load import load, read_text
from trainer.settings.model import Card
from trainer.store.exports import in_exports, note_export
from trainer.store.folder import write_atomically
from trainer.store.history import StudentKey
from trainer.store.joining import id_here, note_ids
from trainer.store.limit_changes import insert_change, limit_changes
from trainer.store.store import Store
from trainer.store.students import (
    Students,
    checked_text,
    edited,
    file_name,
)
from trainer.store.transfer_file import SUFFIX as SUFFIX
from trainer.store.transfer_file import StudentArchive, open_archive
from trainer.store.transfer_json import TODO
from trainer.store.transfer_strokes import Merged, merge, ready, ready_strokes, stroke_of
from trainer.store.transfer_strokes_out import SIGNALS
from trainer.texts import tr


def incoming(archive: StudentArchive) -> Incoming:
    """Reads and checks everything but the strokes; writes nothing. Raises TransferError."""
    text = archive.text("student.toml") or ""
    try:
        source = read_text(text, f"{archive.name}: student.toml")
        strange = [key for key in source.values if key not in EXPORTED_TABLES]
        if strange:
            what = tr("student.toml sets {strange}, which is not handed over", strange=printable(strange[0]))
            raise TransferError(what, archive.name, TODO)
        settings = load([source])
        card = Card.model_validate(source.values.get("student", {}))
        if card.id != archive.manifest["student"]:
            raise TransferError(tr("student.toml is another student's"), archive.name, TODO)
        if "name" not in source.values.get("player", {}):
            raise TransferError(tr("student.toml has no name"), archive.name, TODO)
        drills = {}
        for part in archive.parts:
            if part.startswith("drills/"):
                drill_id = part[7:-5]
                named = tr("{name}: {part}", name=archive.name, part=part)
                drill_text = archive.text(part) or ""
                drill_of(read_text(drill_text, named), drill_id)
                drills[drill_id] = drill_text.encode()
    except SettingsError as error:
        raise TransferError(error.line(), "", TODO) from None
    return Incoming(archive, text, source, settings, card, drills, ready(archive), ready_snapshots(archive))


@dataclass(frozen=True, slots=True)
class ImportRequest:
    """name: in place of the one in the file, for a student not here yet; limits: which side's, None: of each the newer."""

    path: Path
    name: str | None = None
    limits: LimitsSide | None = None


@dataclass(frozen=True, slots=True)
class Imported:
    """name: of the student here; postures: new ones; notes: what was taken over and what was not, a line each."""

    name: str
    merged: Merged
    postures: int
    notes: tuple[str, ...]


def import_student(context: RunContext, request: ImportRequest) -> Imported:
    """Takes in an export file: what is new is added, nothing is lost, doing it twice changes nothing."""
    with open_archive(request.path) as archive:
        return _taken_in(context, request, incoming(archive))


def _taken_in(context: RunContext, request: ImportRequest, what: Incoming) -> Imported:
    students = Students(context.base)
    with context.open_store() as store:
        own = _own_id(students, store, what)
        here = students.by_id(own)
        changes = limit_changes(store, own)
        if here is None:
            new = _new(students, what, request.name)
            name, notes = new.name, [tr("new student {name}", name=printable(new.name))]
        else:
            if request.name is not None and request.name != here.name:
                here_as = tr("this student is here already as {name}", name=printable(here.name))
                raise UsageError(here_as, "--as", tr("use `students rename`"))
            edits, decided, notes = merged_profile(Here(here, tuple(changes), now()), what.side, request.limits)
            name = here.name
        with store.writing() as db:  # the student's file last: what the record refuses leaves none
            merged = merge(db, StudentKey(own, name), what.record, ready_strokes(what.archive))
            note_ids(db, own, what.ids)
            if here is None:
                write_atomically(new.path, new.text.encode("utf-8"))
            else:
                if decided is not None:
                    insert_change(db, decided)
                if edits:
                    students.change(here, edits)
        _note(store, own, what, request.path)
    postures = add_snapshots(Snapshots(files_of(context.base, own)), what.snapshots, what.archive)
    return Imported(name, merged, postures, (*notes, *_add_drills(context, what)))


def _own_id(students: Students, store: Store, what: Incoming) -> str:
    """The id by which the student of the file is here. Raises UsageError where there are two of them."""
    here = {own for own in (id_here(store, one) for one in what.ids) if students.by_id(own) is not None}
    if len(here) > 1:
        names = [student.name for own in sorted(here) if (student := students.by_id(own)) is not None]
        one, other = (printable(name) for name in names[:2])
        raise UsageError(
            tr("{one} and {other} are one student there", one=one, other=other),
            what.archive.name,
            tr("join them with `students join`, then import"),
        )
    return next(iter(here), what.card.id)


def _note(store: Store, own: str, what: Incoming, path: Path) -> None:
    """Whatever came out of an export file is in one, until it changes here."""
    items = {stroke_of(part) for part in what.archive.parts if part.startswith(SIGNALS)}
    items |= {entry.uid for entry in what.record.distances.entries}
    items |= set(names_in(what.archive.parts))
    if not items.issubset(in_exports(store, own).items):
        made_at = time_of(str(what.archive.manifest["made_at"]))
        note_export(store, own, made_at, path.absolute(), items)


@dataclass(frozen=True, slots=True)
class _New:
    """The file of a student who is not here yet, checked and still to be written."""

    name: str
    path: Path
    text: str


def _new(students: Students, what: Incoming, name: str | None) -> _New:
    """As it was exported."""
    wanted = name if name is not None else what.name
    if any(folded(own) == folded(wanted) for own in students.names()):
        taken = tr("there is already another student {wanted}", wanted=printable(wanted))
        todo = tr("import with --as ANOTHER-NAME; `students join` makes one of two who are the same")
        raise UsageError(taken, what.archive.name, todo)
    text = what.text if name is None else edited(what.text, {"player.name": name})
    path = students.folder / file_name(wanted, what.card.id)
    checked_text(path, text)
    return _New(wanted, path, text)


def _add_drills(context: RunContext, what: Incoming) -> list[str]:
    """Own drills are put in; one that is here already with other content stays as it is here."""
    notes = []
    for drill_id, data in what.drills.items():
        path = own_path(context, drill_id)
        if not path.exists():
            write_atomically(path, data)
            notes.append(tr("new drill {drill_id}", drill_id=drill_id))
        elif path.read_bytes() != data:
            notes.append(tr("drill {drill_id} differs and was kept as it is here", drill_id=drill_id))
    return notes
