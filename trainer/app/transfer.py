"""A student's profile, drills and strokes in one export file, there and back."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from trainer import __version__
from trainer.app.clock import now
from trainer.app.context import RunContext
from trainer.app.drills import own_folder
from trainer.app.student_file import student_key, with_id
from trainer.app.transfer_merge import Here, Incoming, LimitsSide, merged_profile
from trainer.domain.printable import printable
from trainer.errors import SettingsError, TransferError, UsageError
from trainer.settings.drill_file import drill_of, known_drills
from trainer.settings.load import load, read_text
from trainer.settings.model import Card
from trainer.store.folder import write_atomically
from trainer.store.history import StudentKey, adopt, limit_changes
from trainer.store.store import utc
from trainer.store.students import (
    StudentFile,
    Students,
    checked_text,
    edited,
    file_name,
    folded,
    student_of,
)
from trainer.store.transfer_file import SUFFIX, TODO, packed, read_archive
from trainer.store.transfer_strokes import Merged, changes_out, merge, parts_of, ready, sessions_out

# What belongs to the student. Camera, window, sound and folders belong to the machine and are never exported.
EXPORTED_TABLES = ("player", "feedback", "limits", "posture", "student")


@dataclass(frozen=True, slots=True)
class ExportRequest:
    """out: the file, None: one named after student and day in this folder; strokes: all of them too."""

    name: str
    out: Path | None = None
    strokes: bool = False


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written."""

    path: Path
    drills: int
    strokes: int
    size_bytes: int


def export_student(context: RunContext, request: ExportRequest) -> Exported:
    """Writes the export file, all or nothing."""
    students = Students(context.base)
    student = with_id(students, students.find(request.name))
    text = profile_text(student.path.read_text(encoding="utf-8"))
    parts: dict[str, bytes] = {"student.toml": text.encode()} | _own_drills(context, student)
    drills = len(parts) - 1
    with context.open_store() as store:
        adopt(store, student_key(student))
        values: dict[str, Any] = {"limits.json": changes_out(store, student.card.id)}
        strokes = 0
        if request.strokes:
            values["sessions.json"], signals = sessions_out(store, student_key(student))
            parts |= signals
            strokes = len(signals)
    parts |= parts_of(values)
    at = now()
    named = file_name(student.name, student.card.id).removesuffix(".toml")
    path = request.out or Path(f"{named}-{at:%Y%m%d}{SUFFIX}")
    if path.is_dir():
        raise UsageError("is a folder", str(path), "give the file's name too")
    data = packed(parts, __version__, utc(at), student.card.id, student.name)
    write_atomically(path, data)
    return Exported(path, drills, strokes, len(data))


def _own_drills(context: RunContext, student: StudentFile) -> dict[str, bytes]:
    """Name in the archive -> content, of the student's drills that are the coach's own. Raises SettingsError."""
    own = known_drills([own_folder(context.base)])
    parts = {}
    for drill in student.card.drills:
        if drill in own:
            drill_of(read_text(own[drill].read_text(encoding="utf-8"), str(own[drill])), drill)
            parts[f"drills/{drill}.toml"] = own[drill].read_bytes()
    return parts


def profile_text(text: str) -> str:
    """A student's file without what belongs to the machine; comments stay."""
    document = tomlkit.parse(text)
    for table in [key for key in document if key not in EXPORTED_TABLES]:
        document.remove(table)
    return tomlkit.dumps(document)


def incoming(path: Path) -> Incoming:
    """Reads and checks everything; writes nothing. Raises TransferError."""
    archive = read_archive(path)
    text = archive.text("student.toml") or ""
    try:
        source = read_text(text, f"{archive.name}: student.toml")
        strange = [key for key in source.values if key not in EXPORTED_TABLES]
        if strange:
            what = f"student.toml sets {printable(strange[0])}, which is not handed over"
            raise TransferError(what, archive.name, TODO)
        settings = load([source])
        card = Card.model_validate(source.values.get("student", {}))
        if card.id != archive.manifest["student"]:
            raise TransferError("student.toml is another student's", archive.name, TODO)
        if "name" not in source.values.get("player", {}):
            raise TransferError("student.toml has no name", archive.name, TODO)
        drills = {}
        for part, data in archive.parts.items():
            if part.startswith("drills/"):
                drill_id = part[7:-5]
                named = f"{archive.name}: {part}"
                drill_of(read_text(archive.text(part) or "", named), drill_id)
                drills[drill_id] = data
    except SettingsError as error:
        raise TransferError(error.line(), "", TODO) from None
    return Incoming(archive, text, source, settings, card, drills, ready(archive))


@dataclass(frozen=True, slots=True)
class ImportRequest:
    """name: in place of the one in the file, for a student not here yet; limits: which side's, None: the newer ones."""

    path: Path
    name: str | None = None
    limits: LimitsSide | None = None


@dataclass(frozen=True, slots=True)
class Imported:
    """name: of the student here; notes: what was taken over and what was not, a line each."""

    name: str
    merged: Merged
    notes: tuple[str, ...]


def import_student(context: RunContext, request: ImportRequest) -> Imported:
    """Takes in an export file: what is new is added, nothing is lost, doing it twice changes nothing."""
    what = incoming(request.path)
    students = Students(context.base)
    here = students.by_id(what.card.id)
    notes: list[str] = []
    with context.open_store() as store:  # before any file is written: a record that cannot be used stops it all
        changes = limit_changes(store, what.card.id)
        if here is None:
            student = _new(students, what, request.name)
            notes.append(f"new student {printable(student.name)}")
        else:
            if request.name is not None and request.name != here.name:
                here_as = f"this student is here already as {printable(here.name)}"
                raise UsageError(here_as, "--as", "use `students rename`")
            last_limits = changes[-1].limits if changes else None
            edits, notes = merged_profile(Here(here, last_limits), what, request.limits)
            student = students.change(here, edits) if edits else here
        merged = merge(store, StudentKey(what.card.id, student.name), what.record)
    return Imported(student.name, merged, (*notes, *_add_drills(context, what)))


def _new(students: Students, what: Incoming, name: str | None) -> StudentFile:
    """The file of a student who is not here yet, as it was exported."""
    wanted = name if name is not None else what.name
    if any(folded(own) == folded(wanted) for own in students.names()):
        taken = f"there is already another student {printable(wanted)}"
        raise UsageError(taken, what.archive.name, "import with --as ANOTHER-NAME")
    text = what.text if name is None else edited(what.text, {"player.name": name})
    path = students.folder / file_name(wanted, what.card.id)
    checked_text(path, text)
    write_atomically(path, text.encode("utf-8"))
    return student_of(path)


def _add_drills(context: RunContext, what: Incoming) -> list[str]:
    """Own drills are put in; one that is here already with other content stays as it is here."""
    notes = []
    for drill_id, data in what.drills.items():
        path = own_folder(context.base) / f"{drill_id}.toml"
        if not path.exists():
            write_atomically(path, data)
            notes.append(f"new drill {drill_id}")
        elif path.read_bytes() != data:
            notes.append(f"drill {drill_id} differs and was kept as it is here")
    return notes
