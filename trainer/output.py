"""What a user asks to be written to a file of their own naming: it never takes the place of something else."""

from __future__ import annotations

import os
import stat
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Callable, Iterator

from trainer.errors import TrainerError, UsageError
from trainer.files import replacing
from trainer.mp4 import is_drawn
from trainer.texts import tr

# What of the data folder is the trainer's own: nobody's output goes there. In lower case.
OWN_FOLDERS = ("students", "drills", "log")
OWN_FILES = ("settings.toml", "cameras.json", "start.json", "sound.json", "certificate.pem")
OWN_RECORD = "strokes.sqlite"  # and the journals beside it, whose names begin so
# Endings of what is none of the kinds below.
OTHERS = (".avi", ".mkv", ".webm", ".jpg", ".jpeg", ".toml", ".sqlite", ".pem")
_HEAD = 512  # bytes from the beginning of a file that tell its kind


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file. endings: it may have, in lower case; begins: what its content begins with, in lower case, after
    blanks; at: from which byte; made_here: whether the trainer wrote one, for kinds of which people have their own that
    cannot be made again: these are not replaced.
    """

    name: str
    endings: tuple[str, ...]
    begins: tuple[bytes, ...]
    at: int = 0
    made_here: Callable[[Path], bool] | None = None

    def has(self, head: bytes) -> bool:
        """A file that begins so is of this kind, or has nothing in it."""
        text = head if self.at else head.removeprefix(b"\xef\xbb\xbf").lstrip()
        return not head or text[self.at :].lower().startswith(self.begins)


PAGE = Kind("HTML", (".html", ".htm"), (b"<!doctype html", b"<html"))
PICTURE = Kind("PNG", (".png",), (b"\x89png",))
SHEET = Kind("PDF / PNG", (".pdf", ".png"), (b"%pdf", b"\x89png"))
CLIP = Kind(
    "MP4", (".mp4", ".m4v", ".mov"), (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"), at=4, made_here=is_drawn
)
NUMBERS = Kind("JSON", (".json", ".jsonl"), (b"{", b"["))
EXPORT = Kind("ZIP", (".zip",), (b"pk",))
KINDS = (PAGE, PICTURE, SHEET, CLIP, NUMBERS, EXPORT)


def check_output(path: Path, kind: Kind, data_folder: Path | None = None) -> Path:
    """The file that is to be written: where ``path`` leads. Raises UsageError where that must not be.

    data_folder: what it holds for the trainer itself is never written over.
    """
    target = Path(os.path.realpath(path))
    if path.is_dir():
        raise UsageError(tr("is a folder"), str(path), tr("give the name of a file"))
    other = tr("give another name for what is written")
    if _is_stdout(path):  # the shell opened it
        return target
    if data_folder is not None and _is_own(target, Path(os.path.realpath(data_folder))):
        raise UsageError(tr("belongs to what the trainer keeps in its data folder"), str(path), other)
    try:
        mode = path.stat().st_mode  # by the name given: what stdout leads to may have none
    except OSError:
        return target
    if stat.S_ISBLK(mode) or stat.S_ISSOCK(mode):
        raise UsageError(tr("is a device"), str(path), other)
    if stat.S_ISREG(mode) and not _is_of(target, kind):
        raise UsageError(tr("is there already and is no {kind} file", kind=kind.name), str(path), other)
    if stat.S_ISREG(mode) and target.stat().st_size and kind.made_here is not None and not kind.made_here(target):
        raise UsageError(tr("is there already and was not made by the trainer"), str(path), other)
    return target


@contextmanager
def output(path: Path, kind: Kind, data_folder: Path | None = None) -> Iterator[IO[bytes]]:
    """The file, open to be written: there whole or not at all. A pipe, a terminal and the like are written through.

    Raises UsageError, also in place of every OSError within.
    """
    target = check_output(path, kind, data_folder)
    with _told(path):
        if _is_stdout(path):
            sys.stdout.flush()
            with os.fdopen(os.dup(1), "wb") as through:
                yield through
        elif path.exists() and not path.is_file():
            with path.open("wb") as through:
                yield through
        else:
            with _in_place_of(target) as part, part.open("xb") as file:
                yield file


def write_output(path: Path, data: bytes, kind: Kind, data_folder: Path | None = None) -> None:
    """The whole file, in a folder that is made if need be. Raises UsageError."""
    check_output(path, kind, data_folder)
    with _told(path):
        Path(os.path.realpath(path)).parent.mkdir(parents=True, exist_ok=True)
    with output(path, kind, data_folder) as file:
        file.write(data)


@contextmanager
def output_part(path: Path, kind: Kind) -> Iterator[Path]:
    """The same for what is written by name, which a device cannot be: see ``replacing``. Raises UsageError, OSError."""
    target = check_output(path, kind)
    if path.exists() and not path.is_file():
        raise UsageError(tr("is a device"), str(path), tr("give another name for what is written"))
    with _in_place_of(target) as part:
        yield part


@contextmanager
def _in_place_of(target: Path) -> Iterator[Path]:
    """Who may read a file that was there may read what takes its place."""
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else None
    with replacing(target) as part:
        yield part
        if mode is not None:
            part.chmod(mode)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except BrokenPipeError:  # the reader went away: no fault of the file
        raise
    except OSError as error:
        if isinstance(error, TrainerError):
            raise
        why = tr("cannot be written ({strerror})", strerror=error.strerror)
        raise UsageError(why, str(path), tr("choose another place")) from None


def _is_own(target: Path, base: Path) -> bool:
    if not target.is_relative_to(base) or target == base:
        return False
    first, *below = (part.lower() for part in target.relative_to(base).parts)
    return first in OWN_FOLDERS or (not below and (first in OWN_FILES or first.startswith(OWN_RECORD)))


def _is_of(target: Path, kind: Kind) -> bool:
    """Both by its ending and by its content; an ending that says nothing leaves it to the content."""
    ending = target.suffix.lower()
    known = {*OTHERS, *(one for each in KINDS for one in each.endings)}
    if ending in known and ending not in kind.endings:
        return False
    try:
        with target.open("rb") as file:
            return kind.has(file.read(_HEAD))
    except OSError:
        return False


def _is_stdout(path: Path) -> bool:
    """/dev/stdout, whatever that is: what was printed before must stay before it."""
    try:
        return os.path.samestat(path.stat(), os.fstat(1)) and not stat.S_ISDIR(path.stat().st_mode)
    except (OSError, ValueError):
        return False
