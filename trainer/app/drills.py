"""Drills: where they are, which can be used, one of them in words."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.app.context import RunContext
from trainer.coaching.drill_words import description
from trainer.coaching.drills import block_strokes as block_strokes
from trainer.coaching.drills import test_of as test_of
from trainer.errors import SettingsError
from trainer.resources import data_path
from trainer.settings.drill_file import Drill, known_drills, load_drill


def own_folder(base: Path) -> Path:
    """Of the coach's own drills."""
    return base / "drills"


def drill_folders(base: Path) -> tuple[Path, Path]:
    """Bundled drills, then the coach's own, which go before a bundled one of the same id."""
    return data_path("config", "drills"), own_folder(base)


def drill_named(base: Path, drill_id: str) -> Drill:
    """Raises SettingsError: no such drill, or one with faults."""
    return load_drill(drill_id, drill_folders(base))


@dataclass(frozen=True, slots=True)
class DrillList:
    """drills: those that can be used, by id; faults: a line for each of the others."""

    drills: tuple[Drill, ...]
    faults: tuple[str, ...]


def list_drills(base: Path) -> DrillList:
    """All of them."""
    good, bad = [], []
    for drill_id in known_drills(drill_folders(base)):
        try:
            good.append(drill_named(base, drill_id))
        except SettingsError as error:
            bad.append(error.line())
    return DrillList(tuple(good), tuple(bad))


def describe(context: RunContext, drill_id: str) -> list[str]:
    """What a drill asks, in sentences."""
    drill = drill_named(context.base, drill_id)
    known = known_drills(drill_folders(context.base))
    follows = drill.head.next if drill.head.next in known else ""
    return description(drill, drill_named(context.base, follows).head.name if follows else "")
