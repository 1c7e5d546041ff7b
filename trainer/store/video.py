"""Videos of strokes, kept only when asked: one file a stroke, named by the stroke's own number, in its student's folder."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Sequence

from trainer.errors import StoreError
from trainer.store import avi
from trainer.store.folder import write_atomically
from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store

FILES = "files"  # students/files/ID/: what is kept of a student beside the TOML file
NOBODY = "nobody"  # in place of the id where strokes belong to no student
ENDING = ".avi"


@dataclass(frozen=True, slots=True)
class StrokeKey:
    """A stroke's numbers: in this record, and the one that is the same everywhere. student: the id, empty for none."""

    stroke_id: int
    uid: str
    student: str


def folder_of(base: Path, student_id: str) -> Path:
    """Where a student's videos are; ids are hexadecimal digits, so they are safe names."""
    return base / "students" / FILES / (student_id or NOBODY)


def key_of(store: Store, stroke_id: int) -> StrokeKey:
    """Raises StoreError when there is no such stroke."""
    sql = "SELECT s.id, s.uid, n.student FROM strokes s JOIN sessions n ON n.id = s.session_id WHERE s.id = ?"
    with store.reading() as db:
        row = db.execute(sql, (stroke_id,)).fetchone()
    if row is None:
        raise StoreError(f"there is no stroke {stroke_id}", str(store.path), "`strokes` lists them")
    return StrokeKey(int(row[0]), str(row[1]), row[2] or "")


def newest_of(store: Store, session_id: int) -> StrokeKey | None:
    """The stroke kept last in a session."""
    with store.reading() as db:
        row = db.execute("SELECT max(id) FROM strokes WHERE session_id = ?", (session_id,)).fetchone()
    return key_of(store, int(row[0])) if row[0] is not None else None


def _name(uid: str) -> str:
    if not uid or not all(c in "0123456789abcdef" for c in uid):  # never anything that could be a path
        raise StoreError("the stroke's own number is not one", uid, "the stroke is drawn as a figure")
    return uid + ENDING


def put(base: Path, key: StrokeKey, jpegs: Sequence[bytes], times_s: Sequence[float], size: tuple[int, int]) -> Path:
    """Writes a stroke's frames, whole or not at all. Raises StoreError."""
    path = folder_of(base, key.student) / _name(key.uid)
    write_atomically(path, avi.packed(jpegs, times_s, size))
    return path


def find(base: Path, key: StrokeKey) -> Path | None:
    """The stroke's video if there is one. A stroke of before its player became a student is looked for there too."""
    for student in dict.fromkeys((key.student, "")):
        path = folder_of(base, student) / _name(key.uid)
        if path.is_file():
            return path
    return None


def read(path: Path) -> tuple[list[bytes], list[float]]:
    """(jpegs, times). Raises StoreError when it is gone, may not be read or is damaged."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise StoreError(f"cannot be read ({error.strerror})", str(path), "the stroke is drawn as a figure") from None
    return avi.unpacked(data, str(path))


def videos_of(store: Store, base: Path, student_key: StudentKey) -> list[Path]:
    """The videos of a student's strokes, also those outside the student's folder, in no order."""
    sql = f"SELECT s.uid FROM main.strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE}"
    with store.reading() as db:
        uids = [row[0] for row in db.execute(sql, student_key.query())]
    places = (
        [folder_of(base, student_key.student), folder_of(base, "")] if student_key.student else [folder_of(base, "")]
    )
    return [path for uid in uids for place in places if (path := place / _name(uid)).is_file()]


def forget(paths: Sequence[Path]) -> tuple[int, int]:
    """Deletes; (files, bytes) that went. Raises StoreError."""
    files = size = 0
    for path in paths:
        try:
            bytes_ = path.stat().st_size
            path.unlink()
        except FileNotFoundError:
            continue
        except OSError as error:
            raise StoreError(f"cannot be deleted ({error.strerror})", str(path), "allow that and try again") from None
        files, size = files + 1, size + bytes_
    return files, size


def outlived(base: Path, keep_days: float, keep_mb: float, now: datetime) -> list[Path]:
    """Videos past the retention: older than keep_days (0: none is), and the oldest of what is over keep_mb in all."""
    found = []
    for path in (base / "students" / FILES).glob(f"*/*{ENDING}"):
        facts = path.stat()
        found.append((facts.st_mtime, facts.st_size, path))
    found.sort(reverse=True)
    oldest = (now - timedelta(days=keep_days)).timestamp() if keep_days else float("-inf")
    out, size = [], 0.0
    for changed, bytes_, path in found:
        size += bytes_
        if changed < oldest or size > keep_mb * 1e6:
            out.append(path)
    return out
