"""What several commands need: the data folder, the settings in their layers, the open record."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from pathlib import Path

from trainer import __version__
from trainer.live.ports import Reporter as Reporter
from trainer.settings.load import Source, from_options, load, read_file
from trainer.settings.model import Settings
from trainer.store.folder import FOLDER_VARIABLE, SETTINGS_FILE, base_folder
from trainer.store.sound_memory import recall_buffer
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students, student_of

_STARTED_S = time.monotonic()


@dataclass(frozen=True, slots=True)
class RunContext:
    """The settings of this run and where things are.

    folder: holds the record; base: the data folder, with students/ and drills/; student_id: empty if there is none.
    """

    settings: Settings
    folder: Path
    base: Path
    student_id: str = ""

    def open_store(self) -> Store:
        return Store(self.folder, __version__)

    def open_store_to_read(self) -> Store:
        """Where nothing may be written, too. Whoever means to write does not come by this: it would be refused too late."""
        return Store(self.folder, __version__, only_to_read=True)


def load_context(data_folder: Path | None, student: str | None = None, **options: object) -> RunContext:
    """Settings in layers: defaults, settings.toml of the data folder, the student's file, the command line's options.

    options: dotted keys with "__" for the dot; None = not given. Raises SettingsError, UsageError.
    """
    base = base_folder(data_folder, os.environ)
    sources: list[Source] = []
    common = base / SETTINGS_FILE
    if common.is_file():
        sources.append(read_file(common))
    student_id = ""
    if student is not None:
        own = student_named(base, student)
        sources.append(own.source)
        student_id = own.card.id
    settings = load([*sources, from_options(**options)])
    if settings.sound.buffer_samples is None:
        chosen = recall_buffer(base, settings.sound.device)
        settings = settings.changed(sound=settings.sound.model_copy(update={"buffer_samples": chosen}))
    chosen_outside = data_folder is not None or bool(os.environ.get(FOLDER_VARIABLE))
    folder = Path(settings.store.folder) if settings.store.folder and not chosen_outside else base
    return RunContext(settings, folder.expanduser(), base, student_id)


def student_named(base: Path, student: str) -> StudentFile:
    """From a path to a TOML file, or by name, which is looked up inside the files and never made a path.

    Raises SettingsError, UsageError.
    """
    path = Path(student)
    return student_of(path) if student.endswith(".toml") and path.is_file() else Students(base).find(student)


def since_start_s() -> float:
    """Seconds since the command began, as good as: this module is the first that a command imports."""
    return time.monotonic() - _STARTED_S
