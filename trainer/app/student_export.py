"""A student in one export file: all that there is of them but the videos; and what of a student is in no such file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Collection

import tomlkit

from trainer import __version__
from trainer.app.clock import now
from trainer.app.context import RunContext
from trainer.app.drills import own_folder
from trainer.app.student_file import files_of, student_key, with_id
from trainer.errors import UsageError
from trainer.files import free_path
from trainer.output import EXPORT, check_output, output
from trainer.posture.snapshot_transfer import names_in, snapshots_out
from trainer.posture.snapshots import Snapshots
from trainer.settings.drill_file import drill_of, known_drills
from trainer.settings.load import read_file
from trainer.store.exports import InExports, in_exports, note_export, record_items
from trainer.store.history import StudentKey, drills_used
from trainer.store.joining import other_ids
from trainer.store.ownership import adopt
from trainer.store.store import Store, utc
from trainer.store.students import StudentFile, Students, file_name
from trainer.store.transfer_distances import PART as DISTANCES
from trainer.store.transfer_distances import distances_out
from trainer.store.transfer_file import SUFFIX
from trainer.store.transfer_strokes_out import SESSIONS, changes_out, json_part, sessions_out, signals_out
from trainer.store.transfer_teaching import PART as TEACHING
from trainer.store.transfer_teaching import teaching_out
from trainer.store.transfer_writing import ArchiveWriter, gathered
from trainer.store.video import videos_of
from trainer.texts import tr

# What belongs to the student. Camera, window, sound and folders belong to the machine and are never exported.
EXPORTED_TABLES = ("player", "feedback", "limits", "posture", "student")


@dataclass(frozen=True, slots=True)
class ExportRequest:
    """out: the file, None: one named after student and day in the folder, else in this one; profile_only: profile, limits,
    drills.
    """

    name: str
    out: Path | None = None
    profile_only: bool = False
    folder: Path = Path()


@dataclass(frozen=True, slots=True)
class Holdings:
    """How much there is of something. distances: greens and putts; video_bytes: of all videos together."""

    strokes: int = 0
    postures: int = 0
    distances: int = 0
    videos: int = 0
    video_bytes: int = 0

    def __bool__(self) -> bool:
        return any((self.strokes, self.postures, self.distances, self.videos))


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written, and what there is of the student that is not in it."""

    path: Path
    drills: int
    inside: Holdings
    left_out: Holdings
    size_bytes: int


def export_student(context: RunContext, request: ExportRequest) -> Exported:
    """Writes the export file, all or nothing, never over another one. Raises UsageError where there is one."""
    students = Students(context.base)
    student = with_id(students, students.find(request.name))
    at = now()
    named = file_name(student.name, student.card.id).removesuffix(".toml")
    path = request.out or free_path(f"{named}-{at.astimezone():%Y%m%d}", SUFFIX, request.folder)
    if path.exists() and not path.is_dir():
        raise UsageError(tr("is there already; exports never overwrite"), str(path), tr("give another name with --out"))
    check_output(path, EXPORT, context.base)
    with context.open_store() as store:
        key = student_key(student)
        adopt(store, key)
        drills = _own_drills(context, student, drills_used(store, key))
        with output(path, EXPORT, context.base) as file:
            with ArchiveWriter(file) as out:
                out.add("student.toml", profile_text(student.path.read_text(encoding="utf-8-sig")).encode())
                for part, data in drills.items():
                    out.add(part, data)
                _add_record(out, store, student, request.profile_only)
                if not request.profile_only:
                    for part, data in snapshots_out(Snapshots(files_of(context.base, student.card.id))):
                        out.add(part, data)
                out.add_manifest(__version__, utc(at), student.card.id, student.name, other_ids(store, student.card.id))
            size_bytes = file.tell()
        items = _items(store, context, key)
        # Distances go whole or not at all.
        there = items.only(
            set() if request.profile_only else items.strokes | items.distances | set(names_in(out.parts))
        )
        note_export(store, student.card.id, at, path.absolute(), there.strokes | there.distances | there.postures)
    return Exported(path, len(drills), there.counted(), items.without(there).counted(), size_bytes)


def _add_record(out: ArchiveWriter, store: Store, student: StudentFile, profile_only: bool) -> None:
    key = student_key(student)
    out.add("limits.json", json_part(changes_out(store, student.card.id)))
    if profile_only:
        return
    out.add(TEACHING, json_part(teaching_out(store, key)))
    out.add(DISTANCES, json_part(distances_out(store, student.name)))
    with store.snapshot() as db:
        out.add_chunks(SESSIONS, gathered(sessions_out(db, key)))
        for part, block in signals_out(db, key):
            out.add(part, block)


@dataclass(frozen=True, slots=True)
class _Items:
    """Uids and names of what there is of a student. videos: files."""

    strokes: frozenset[str]
    distances: frozenset[str]
    postures: frozenset[str]
    videos: frozenset[Path] = frozenset()

    def only(self, these: Collection[str]) -> _Items:
        return _Items(self.strokes & set(these), self.distances & set(these), self.postures & set(these))

    def without(self, other: _Items) -> _Items:
        strokes, distances = self.strokes - other.strokes, self.distances - other.distances
        return _Items(strokes, distances, self.postures - other.postures, self.videos - other.videos)

    def counted(self) -> Holdings:
        size = sum(path.stat().st_size for path in self.videos)
        return Holdings(len(self.strokes), len(self.postures), len(self.distances), len(self.videos), size)


def _items(store: Store, context: RunContext, key: StudentKey) -> _Items:
    record = record_items(store, key)
    postures = [one.name for one in Snapshots(files_of(context.base, key.student)).all()] if key.student else []
    videos = frozenset(videos_of(store, context.base, key))
    return _Items(record.strokes, record.distances, frozenset(postures), videos)


@dataclass(frozen=True, slots=True)
class NotExported:
    """What of a student is in no export file. last: the newest file, None: there never was one; last_there: it is still
    where it was written.
    """

    left_out: Holdings
    last: Path | None
    last_there: bool


def not_exported(store: Store, context: RunContext, key: StudentKey) -> NotExported:
    """Goes by what was exported or imported on this machine."""
    known = in_exports(store, key.student) if key.student else InExports()
    items = _items(store, context, key)
    missing = items.without(items.only(known.items)).counted()
    return NotExported(missing, known.last, known.last is not None and known.last.is_file())


def own_path(context: RunContext, drill_id: str) -> Path:
    """Where the coach's own drill of that id is."""
    return own_folder(context.base) / f"{drill_id}.toml"


def _own_drills(context: RunContext, student: StudentFile, used: set[str]) -> dict[str, bytes]:
    """Name in the archive -> content, of the coach's own drills that are the student's or were practised.

    Raises SettingsError.
    """
    own = known_drills([own_folder(context.base)])
    parts = {}
    for drill in sorted({*student.card.drills, *used} & set(own)):
        drill_of(read_file(own[drill]), drill)
        parts[f"drills/{drill}.toml"] = own[drill].read_bytes()
    return parts


def profile_text(text: str) -> str:
    """A student's file without what belongs to the machine; comments stay."""
    document = tomlkit.parse(text)
    for table in [key for key in document if key not in EXPORTED_TABLES]:
        document.remove(table)
    return tomlkit.dumps(document)
