"""Videos of strokes, kept only when asked: one file a stroke, named by the stroke's own number, in its student's folder."""

from __future__ import annotations

import os
import struct
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any, BinaryIO, Callable, Iterable, Sequence

from trainer.errors import ClipError, StoreError
from trainer.files import replacing
from trainer.mp4 import ROOM_BYTES_PX, Mp4Writer, check_room, free_bytes
from trainer.store.history import WHOSE, StudentKey
from trainer.store.store import Store
from trainer.texts import tr
from trainer.vision.sources.video_file import VideoFile

FILES = "files"  # students/files/ID/: what is kept of a student beside the TOML file
NOBODY = "nobody"  # in place of the id where strokes belong to no student
ENDING = ".mp4"
OLD_ENDING = ".avi"  # of release 0.1: motion JPEG, the times in a chunk of their own
OLD_TIMES = b"ftim"  # that chunk: float64 little-endian seconds, one a frame
START_TAG = "putting_trainer_start_s"  # the first picture's time on the clock of the stroke's record
NO_VIDEO = tr("the kept video is damaged, or none of ours")
INSTEAD = tr("the stroke is drawn as a figure")


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
        raise StoreError(
            tr("there is no stroke {stroke_id}", stroke_id=stroke_id), str(store.path), tr("`strokes` lists them")
        )
    return StrokeKey(int(row[0]), str(row[1]), row[2] or "")


def newest_of(store: Store, session_id: int) -> StrokeKey | None:
    """The stroke kept last in a session."""
    with store.reading() as db:
        row = db.execute("SELECT max(id) FROM strokes WHERE session_id = ?", (session_id,)).fetchone()
    return key_of(store, int(row[0])) if row[0] is not None else None


def _name(uid: str, ending: str = ENDING) -> str:
    if not uid or not all(c in "0123456789abcdef" for c in uid):  # never anything that could be a path
        raise StoreError(tr("the stroke's own number is not one"), uid, INSTEAD)
    return uid + ending


def put(
    base: Path,
    key: StrokeKey,
    jpegs: Sequence[bytes],
    times_s: Sequence[float],
    size: tuple[int, int],
    free: Callable[[Path], float] = free_bytes,
) -> Path:
    """Writes a stroke's frames, whole or not at all. times_s: rising; size: (width, height) px. Raises StoreError."""
    path = folder_of(base, key.student) / _name(key.uid)
    tags = {START_TAG: repr(float(times_s[0]))}
    fps = (len(times_s) - 1) / (times_s[-1] - times_s[0]) if len(times_s) > 1 else 30.0
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        check_room(path.parent, len(jpegs) * size[0] * size[1] * ROOM_BYTES_PX, free)
        with replacing(path) as part:
            part.touch(0o600)
            writer = Mp4Writer(part, size, fps, tags)
            try:
                for jpeg, time_s in zip(jpegs, times_s, strict=True):
                    writer.add(_picture(jpeg), time_s)
            finally:
                writer.close()
    except OSError as error:
        raise StoreError(
            tr("cannot be written ({strerror})", strerror=error.strerror),
            str(path),
            tr("make room, or allow writing there"),
        ) from None
    return path


def _picture(jpeg: bytes) -> Any:
    import cv2
    import numpy as np

    return cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)


def find(base: Path, key: StrokeKey) -> Path | None:
    """The stroke's video if there is one. A stroke of before its player became a student is looked for there too."""
    found = _kept(key.uid, [folder_of(base, student) for student in dict.fromkeys((key.student, ""))])
    return found[0] if found else None


def times_of(path: Path) -> list[float]:
    """The frames' times on the clock of the stroke's record. Raises StoreError when the file is gone or damaged."""
    try:
        if path.suffix == OLD_ENDING:
            with path.open("rb") as data:
                times = _old_times(data)
        else:
            with closing(VideoFile(path)) as video:
                start_s = float(video.tags[START_TAG])
                times = [start_s + time_s for time_s in video.times_said()]
                if len(times) != video.frames_said:
                    raise ValueError
        if not times or not all(a < b for a, b in pairwise(times)):
            raise ValueError
    except ClipError as error:
        raise StoreError(tr("{no_video}: {what}", no_video=NO_VIDEO, what=error.what), str(path), INSTEAD) from None
    except OSError as error:
        raise StoreError(tr("cannot be read ({strerror})", strerror=error.strerror), str(path), INSTEAD) from None
    except (ValueError, KeyError, struct.error):
        raise StoreError(NO_VIDEO, str(path), INSTEAD) from None
    return times


def _old_times(file: BinaryIO) -> list[float]:
    """Of an AVI of release 0.1 (RIFF: name, size, content, made even). Raises ValueError, struct.error."""
    if file.read(4) != b"RIFF" or file.read(8)[4:] != b"AVI ":
        raise ValueError
    while head := file.read(8):
        kind, size = struct.unpack("<4sI", head)
        if kind == OLD_TIMES:
            data = file.read(size)
            return list(struct.unpack(f"<{size // 8}d", data))
        file.seek(size + size % 2, os.SEEK_CUR)
    raise ValueError


def videos_of(store: Store, base: Path, student_key: StudentKey) -> list[Path]:
    """The videos of a student's strokes, also those outside the student's folder, in no order."""
    sql = f"SELECT s.uid FROM main.strokes s JOIN sessions n ON n.id = s.session_id WHERE {WHOSE}"
    with store.reading() as db:
        uids = [row[0] for row in db.execute(sql, student_key.query())]
    return stroke_videos(base, uids, student_key.student)


def _kept(uid: str, folders: Iterable[Path]) -> list[Path]:
    """The video of a stroke in each of these folders."""
    paths = [folder / _name(uid, ending) for folder in folders for ending in (ENDING, OLD_ENDING)]
    return [path for path in paths if path.is_file()]


def move_videos(base: Path, uids: Iterable[str], student: str, to: str) -> None:
    """The strokes' videos into another student's folder. student: the id, empty for none. Raises StoreError."""
    for uid in uids:
        for path in stroke_videos(base, [uid], student):
            try:
                folder_of(base, to).mkdir(parents=True, exist_ok=True)
                path.replace(folder_of(base, to) / path.name)
            except OSError as error:
                what = tr(
                    "cannot be moved to {folder} ({strerror})", folder=folder_of(base, to), strerror=error.strerror
                )
                raise StoreError(what, str(path), tr("allow that and move it there")) from None


def stroke_videos(base: Path, uids: Iterable[str], student: str) -> list[Path]:
    """The videos of these strokes of a student, the id empty for none."""
    places = [folder_of(base, one) for one in dict.fromkeys((student, ""))]
    return [path for uid in uids for path in _kept(uid, places)]


def facts_of(path: Path) -> os.stat_result | None:
    """None where it is gone: another window may move or delete a video at any time."""
    try:
        return path.stat()
    except FileNotFoundError:
        return None


def forget(paths: Sequence[Path]) -> tuple[int, int]:
    """Deletes; (files, bytes) that went. Raises StoreError."""
    files = size = 0
    for path in paths:
        try:
            bytes_ = path.stat().st_size
            path.unlink()
        except FileNotFoundError:  # gone already
            continue
        except OSError as error:
            raise StoreError(
                tr("cannot be deleted ({strerror})", strerror=error.strerror), str(path), tr("allow that and try again")
            ) from None
        files, size = files + 1, size + bytes_
    return files, size


def outlived(base: Path, keep_days: float, keep_mb: float, now: datetime) -> list[Path]:
    """Videos past the retention: older than keep_days (0: none is), and the oldest of what is over keep_mb in all."""
    found = []
    folder = base / "students" / FILES
    for path in (*folder.glob(f"*/*{ENDING}"), *folder.glob(f"*/*{OLD_ENDING}")):
        facts = facts_of(path)
        if facts is not None:
            found.append((facts.st_mtime, facts.st_size, path))
    found.sort(reverse=True)
    oldest = (now - timedelta(days=keep_days)).timestamp() if keep_days else float("-inf")
    out, size = [], 0.0
    for changed, bytes_, path in found:
        size += bytes_
        if changed < oldest or size > keep_mb * 1e6:
            out.append(path)
    return out
