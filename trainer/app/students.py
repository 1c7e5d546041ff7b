"""Students: all of them, one of them; a new one, other values, another name; everything of one gone for good."""

from __future__ import annotations

import difflib
import shutil
import uuid
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Mapping, Sequence

from trainer.app.clock import now, today
from trainer.app.context import RunContext
from trainer.app.drills import drill_folders, list_drills
from trainer.app.homework import HomeworkLine, homework_lines
from trainer.app.student_export import NotExported, not_exported
from trainer.app.student_file import Decision, files_of, set_values, student_key, with_id
from trainer.coaching.player_profile import told_of
from trainer.domain.printable import printable
from trainer.errors import SettingsError, StoreError, UsageError
from trainer.settings.drill_file import known_drills
from trainer.settings.drill_names import present_id
from trainer.settings.toml_text import parsed_or_empty
from trainer.store.folder import left_overs, tree_size
from trainer.store.history import Counts, StudentKey, counts, counts_by_student
from trainer.store.limit_changes import LimitChange, limit_changes
from trainer.store.ownership import Erased, adopt, erase, rename_player
from trainer.store.store import utc
from trainer.store.students import StudentFile, Students, copies_of
from trainer.store.video import forget, videos_of
from trainer.texts import join, tr

if TYPE_CHECKING:
    from trainer.vision.sources.camera_device import Mode


@dataclass(frozen=True, slots=True)
class StudentList:
    """students: with how much is on record; faults: a line for each file that cannot be used."""

    base: Path
    students: tuple[tuple[StudentFile, Counts], ...]
    faults: tuple[str, ...]


def list_students(context: RunContext) -> StudentList:
    """All of them, by name."""
    good, bad = Students(context.base).all()
    recorded: Mapping[tuple[str | None, str], Counts] = {}
    if good:
        with context.open_store_to_read() as store:
            recorded = counts_by_student(store)
    return StudentList(
        context.base,
        tuple((student, _sum(recorded, student)) for student in good),
        tuple(error.line() for error in bad),
    )


def _sum(recorded: Mapping[tuple[str | None, str], Counts], student: StudentFile) -> Counts:
    own = [c for (i, name), c in recorded.items() if (i == student.card.id if i else name == student.name)]
    last = max((c.last_at for c in own if c.last_at), default=None)
    return Counts(sum(c.sessions for c in own), sum(c.strokes for c in own), last)


@dataclass(frozen=True, slots=True)
class StudentFiles:
    """Pictures and videos of a student. of_strokes: how many of the files are strokes' videos."""

    folder: Path
    files: int
    of_strokes: int
    size_bytes: int


@dataclass(frozen=True, slots=True)
class StudentView:
    """All that is known of one student. last_change: of the limits, None when they were never set; homework: what stands;
    profile: what works and what does not for a player who does not putt as most do; mode: what the camera is asked for.
    """

    student: StudentFile
    mode: Mode
    recorded: Counts
    files: StudentFiles
    last_change: LimitChange | None
    homework: tuple[HomeworkLine, ...] = ()
    profile: tuple[str, ...] = ()


def show_student(context: RunContext, name: str) -> StudentView:
    """Raises UsageError: no such student."""
    student = Students(context.base).find(name)
    with context.open_store_to_read() as store:
        recorded, changes = counts(store, student_key(student)), limit_changes(store, student.card.id)
        videos = videos_of(store, context.base, student_key(student))
        drills = list_drills(context.base).drills
        homework = homework_lines(store, student_key(student), drills, today(), open_only=True)
    files = _student_files(context.base, student.card.id, videos)
    profile = told_of(student.settings.player)
    from trainer.app.camera_mode import camera_mode

    mode = camera_mode(student.settings.camera, context.base)
    return StudentView(student, mode, recorded, files, changes[-1] if changes else None, tuple(homework), profile)


def _student_files(base: Path, student_id: str, videos: Sequence[Path]) -> StudentFiles:
    """videos: of the strokes, wherever they are; other files of the student's folder count too."""
    own = files_of(base, student_id)
    files, size = tree_size(own) if student_id else (0, 0)
    outside = [path for path in videos if not (student_id and path.is_relative_to(own))]
    return StudentFiles(own, files + len(outside), len(videos), size + sum(path.stat().st_size for path in outside))


@dataclass(frozen=True, slots=True)
class Added:
    """A new student. adopted: sessions on record under that name, which are theirs now."""

    student: StudentFile
    adopted: int


def add_student(context: RunContext, name: str, values: Mapping[str, Any]) -> Added:
    """values: dotted key -> value. Raises SettingsError, UsageError; then no file is written."""
    _require_known_drills(context, values)
    changes = {**values, "student.changed_at": utc(now())}
    student = Students(context.base).add(name, uuid.uuid4().hex, changes)
    with context.open_store() as store:
        return Added(student, adopt(store, student_key(student)))


@dataclass(frozen=True, slots=True)
class SetRequest:
    """Other values for a student: dotted key -> value, None takes the key out."""

    name: str
    values: Mapping[str, Any]
    decision: Decision = field(default_factory=Decision)


def set_student(context: RunContext, request: SetRequest) -> StudentFile:
    """Comments and order of the file stay. Raises SettingsError, UsageError; then the file is as it was."""
    students = Students(context.base)
    student = with_id(students, students.find(request.name))
    if not request.values:
        raise UsageError(tr("nothing to set"), "", tr("give KEY=VALUE, for example limits.sway.limit_cm=2.5"))
    if "player.name" in request.values:
        raise UsageError(tr("a name is not set"), "player.name", tr("use `students rename`"))
    if "student.id" in request.values:
        raise UsageError(tr("an id is never changed"), "student.id", tr("leave it"))
    _require_known_drills(context, request.values)
    return set_values(context, student, request.values, request.decision)


def _require_known_drills(context: RunContext, changes: Mapping[str, Any]) -> None:
    wanted = changes.get("student.drills")
    known = known_drills(drill_folders(context.base))
    for drill in wanted if isinstance(wanted, list) else []:
        if isinstance(drill, str) and present_id(drill) not in known:
            near = difflib.get_close_matches(drill, known, n=1)
            todo = tr("did you mean {near}?", near=near[0]) if near else tr("known: {listed}", listed=join(", ", known))
            raise UsageError(tr("no drill {drill}", drill=printable(drill)), "student.drills", todo)


def rename_student(context: RunContext, name: str, new_name: str) -> tuple[StudentFile, StudentFile]:
    """(before, after). The record goes along: it hangs on the id."""
    students = Students(context.base)
    student = with_id(students, students.find(name))
    with context.open_store() as store:
        adopt(store, student_key(student))
        renamed = students.rename(student, new_name, {"student.changed_at": utc(now())})
        rename_player(store, student_key(student), renamed.name)
    return student, renamed


@dataclass(frozen=True, slots=True)
class ToErase:
    """A student to be erased, found but not touched. path: of the file, which need not be a sound one."""

    key: StudentKey
    path: Path


def student_to_erase(context: RunContext, name: str) -> ToErase:
    """Raises UsageError: no such student."""
    students = Students(context.base)
    path = students.find_path(name)
    try:
        return ToErase(student_key(students.find(name)), path)
    except SettingsError:  # a file that cannot be read any more must still go
        names = {own: p for own, p in students.names().items() if p == path}
        return ToErase(StudentKey(_id_in(path), next(iter(names))), path)


@dataclass(frozen=True, slots=True)
class ErasedStudent:
    """What went. file_name: of the student's own file, and of copies of it; missing: what of it was in no export file."""

    recorded: Erased
    files: StudentFiles
    file_name: str
    missing: NotExported


def what_is_in_no_export(context: RunContext, student: ToErase) -> NotExported:
    """To be said before it is gone."""
    with context.open_store() as store:
        return not_exported(store, context, student.key)


def erase_student(context: RunContext, student: ToErase) -> ErasedStudent:
    """Everything of a student goes: file, pictures, videos, strokes. Raises StoreError where a file cannot be deleted,
    or another program has the record open: it would keep what goes.
    """
    key, path = student.key, student.path
    with context.open_store() as store:
        videos = videos_of(store, context.base, key)  # asked for first: the record knows whose they are
        files = _student_files(context.base, key.student, videos)
        missing = not_exported(store, context, key)
        with store.alone():
            forget(videos)
            forget(left_overs(context.base))
            gone = erase(store, key)
    own = [*copies_of(path, key.student), path]
    try:
        if key.student and files.folder.is_dir():
            shutil.rmtree(files.folder)
        forget(own)
    except OSError as error:
        raise StoreError(
            tr("cannot be deleted ({strerror})", strerror=error.strerror),
            str(path),
            tr("allow that and erase once more"),
        ) from None
    return ErasedStudent(gone, files, join(", ", (one.name for one in own)), missing)


def _id_in(path: Path) -> str:
    """The id in a file that has other faults."""
    card = parsed_or_empty(path).get("student", {})
    found = card.get("id", "") if isinstance(card, dict) else ""
    return found if isinstance(found, str) and len(found) == 32 and all(c in "0123456789abcdef" for c in found) else ""
