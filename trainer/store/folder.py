"""Which folder holds the record, the settings and the students' files."""

from __future__ import annotations

import json
import os
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any, Iterator, Mapping

from trainer.errors import StoreError
from trainer.files import PART, rewriting
from trainer.texts import tr

SETTINGS_FILE = "settings.toml"
FOLDER_VARIABLE = "PUTTING_TRAINER_DATA"
_TODO = tr("choose another with --data-folder or {variable}", variable=FOLDER_VARIABLE)


def base_folder(option: Path | None, environment: Mapping[str, str]) -> Path:
    """The option if given, else the environment variable, else the user's data folder of this system. Makes nothing."""
    if option is not None:
        return option
    if environment.get(FOLDER_VARIABLE):
        return Path(environment[FOLDER_VARIABLE])
    import platformdirs

    return Path(platformdirs.user_data_dir("putting-trainer", appauthor=False))


def ensure_folder(folder: Path) -> Path:
    """The folder, made if need be. Raises StoreError where that cannot be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise StoreError(tr("is a file, not a folder"), str(folder), _TODO) from None
    except OSError as error:
        raise StoreError(
            tr("the data folder cannot be made ({strerror})", strerror=error.strerror), str(folder), _TODO
        ) from None
    return folder


def files_in(folder: Path, ending: str) -> list[Path]:
    """The files of that ending, by name; none where there is no such folder. Raises StoreError where it cannot be read."""
    try:
        with os.scandir(folder) as entries:
            return sorted(folder / entry.name for entry in entries if entry.name.endswith(ending))
    except FileNotFoundError:
        return []
    except NotADirectoryError:
        place = folder if folder.exists() else folder.parent
        raise StoreError(tr("is a file, not a folder"), str(place), _TODO) from None
    except OSError as error:
        raise StoreError(
            tr("cannot be read ({strerror})", strerror=error.strerror), str(folder), tr("allow reading it, or check it")
        ) from None


def left_overs(base: Path) -> list[Path]:
    """Parts of files that a program which was ended in the middle of writing left in the data folder."""
    return [path for place in ("", "students", "students/files/*", "students/files/*/*", "drills")
            for path in base.glob(f"{place}/{PART}*" if place else f"{PART}*")]  # fmt: skip


def tree_size(folder: Path) -> tuple[int, int]:
    """(files, bytes) below a folder; nothing where there is none."""
    sizes = [path.lstat().st_size for path in folder.rglob("*") if not path.is_dir()] if folder.is_dir() else []
    return len(sizes), sum(sizes)


def write_atomically(path: Path, data: bytes) -> None:
    """The file as it was or as it is to be, never a part of it; its folder is made if need be. Raises StoreError."""
    with written_atomically(path) as file:
        file.write(data)


@contextmanager
def written_atomically(path: Path) -> Iterator[IO[bytes]]:
    """The same, written bit by bit. Every OSError within becomes a StoreError of this file."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with rewriting(path) as file:
            yield file
    except OSError as error:
        raise StoreError(
            tr("cannot be written ({strerror})", strerror=error.strerror),
            str(path),
            tr("make room, or allow writing there"),
        ) from None


def json_object(path: Path) -> dict[str, Any]:
    """What a small file of remembered things holds; empty where there is none that can be read."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}
