"""What several commands need: the data folder, the settings in their layers, the open record."""

from __future__ import annotations

import difflib
import os
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

from trainer import __version__
from trainer.errors import UsageError
from trainer.settings.load import Source, from_options, load, read_file
from trainer.settings.model import Settings
from trainer.store.folder import FOLDER_VARIABLE, base_folder
from trainer.store.store import Store

_STARTED_S = time.monotonic()
SETTINGS_FILE = "settings.toml"
STUDENTS_FOLDER = "students"


@dataclass(frozen=True, slots=True)
class Setup:
    """The settings of this run and the folder that holds the record."""

    settings: Settings
    folder: Path

    def open_store(self) -> Store:
        return Store(self.folder, __version__)


def setup(data_folder: Path | None, student: str | None = None, **options: object) -> Setup:
    """Settings in layers: defaults, settings.toml of the data folder, the student's file, the command line's options.

    options: dotted keys with "__" for the dot; None = not given. Raises SettingsError, UsageError.
    """
    base = base_folder(data_folder, os.environ)
    sources: list[Source] = []
    common = base / SETTINGS_FILE
    if common.is_file():
        sources.append(read_file(common))
    if student is not None:
        sources.append(_student(base, student))
    settings = load([*sources, from_options(**options)])
    chosen_outside = data_folder is not None or bool(os.environ.get(FOLDER_VARIABLE))
    folder = Path(settings.store.folder) if settings.store.folder and not chosen_outside else base
    return Setup(settings, folder.expanduser())


def _student(base: Path, student: str) -> Source:
    """The student's file: a path to a TOML file, or a name: students/NAME.toml in the data folder."""
    if student.endswith(".toml"):
        path = Path(student)
        named = path.stem
    else:
        path, named = base / STUDENTS_FOLDER / f"{student}.toml", student
    if not path.is_file():
        folder = base / STUDENTS_FOLDER
        known = sorted(p.stem for p in folder.glob("*.toml"))
        near = difflib.get_close_matches(named, known, n=1)
        if near:
            todo = f"did you mean {near[0]}?"
        else:
            todo = f"known: {', '.join(known)}" if known else "none yet: copy config/student-example.toml there"
        raise UsageError(f"no settings of student {named}", str(path), todo)
    source = read_file(path)
    player = source.values.get("player", {})
    if isinstance(player, dict) and "name" not in player:
        source = replace(source, values={**source.values, "player": {**player, "name": named}})
    return source


def say(line: str) -> None:
    """One line for the user that is neither error nor result."""
    print(line, flush=True)


def complain(line: str) -> None:
    """One line about what went wrong, where the program still goes on."""
    print(f"putting-trainer: {line}", file=sys.stderr, flush=True)


def since_start_s() -> float:
    """Seconds since the command began, as good as: this module is the first that a command imports."""
    return time.monotonic() - _STARTED_S
