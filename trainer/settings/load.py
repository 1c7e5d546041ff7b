"""Settings files -> one checked `Settings`. All faults at once, each with file, line, key and what is allowed."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterable, Mapping, Sequence

from pydantic import BaseModel, ValidationError

from trainer.errors import SettingsError
from trainer.settings.keys import RULE, Key
from trainer.settings.lines import key_lines
from trainer.settings.model import KEYS, Settings, SettingsFile
from trainer.settings.posture import PART
from trainer.settings.toml_text import parsed
from trainer.texts import join, tr

Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Source:
    """Values and where they come from. lines: key path -> line number, empty for what was not read from a file."""

    name: str
    values: Values
    lines: Mapping[tuple[str, ...], int]


def read_file(path: Path) -> Source:
    """A settings file's values, syntax checked only. Raises SettingsError (missing, unreadable, not TOML)."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise SettingsError(tr("is not a UTF-8 text"), str(path), tr("write settings as a TOML text file")) from None
    except OSError as error:
        raise SettingsError(
            tr("cannot be read ({strerror})", strerror=error.strerror), str(path), tr("check the path")
        ) from None
    return read_text(text, str(path))


def read_text(text: str, name: str) -> Source:
    """A settings text's values, syntax checked only; name: what errors call it. Raises SettingsError."""
    try:
        return Source(name, parsed(text), key_lines(text))
    except ValueError as error:
        raise SettingsError(str(error), name, tr("correct the file")) from None


def from_options(**options: Any) -> Source:
    """Values given on the command line: dotted key with "__" for the dot; None = not given."""
    values: Values = {}
    for path, value in options.items():
        if value is not None:
            *tables, key = path.split("__")
            table = values
            for name in tables:
                table = table.setdefault(name, {})
            table[key] = value
    return Source("command line", values, {})


def load(sources: Iterable[Source] = ()) -> Settings:
    """Defaults, overlaid by each source in turn. Raises one SettingsError that names every fault of every source."""
    merged: Values = {}
    faults: list[str] = []
    for source in sources:
        found = faults_of(source, SettingsFile, KEYS, part=True)
        faults += found
        if not found:
            _overlay(merged, source.values)
    refuse(faults)
    merged.pop("student", None)  # what is known of a student is no setting of a run
    refuse(faults_of(Source("settings", merged, {}), Settings, KEYS))  # the rules across keys of different sources
    return Settings.checked(merged)


def faults_of(source: Source, model: type[BaseModel], keys: Sequence[Key], part: bool = False) -> list[str]:
    """Every fault of a file against its model, in plain words.

    keys: the model's documented entries; part: the values are only laid over others.
    """
    try:
        model.model_validate(source.values, context=PART if part else None)
    except ValidationError as error:
        return list(dict.fromkeys(line for fault in error.errors() for line in _worded(source, fault, keys)))
    return []


def refuse(faults: Sequence[str]) -> None:
    """Raises one SettingsError with all of them; does nothing when there are none."""
    if faults:
        count = "" if len(faults) == 1 else f"{len(faults)} faults: "
        raise SettingsError(count + join("; ", faults))


def _overlay(base: Values, new: Values) -> None:
    for key, value in new.items():
        if isinstance(value, dict) and isinstance(base.get(key), dict):
            _overlay(base[key], value)
        else:
            base[key] = dict(value) if isinstance(value, dict) else value


def _worded(source: Source, fault: Any, keys: Sequence[Key]) -> list[str]:
    """One fault of pydantic's list in plain words; a rule may find several things wrong."""
    loc = tuple(str(part) for part in fault["loc"])
    if fault["type"] == RULE:
        found = fault["ctx"]["wrong"]
        return [f"{_place(source, _known_path((*loc, key) if key else loc, keys))}: {what}" for key, what in found]
    path = _known_path(loc, keys)
    place, known = _place(source, path), {key.path: key for key in keys}.get(".".join(path))
    if fault["type"] == "extra_forbidden":
        return [f"{place}: unknown key, {_nearest(path, keys)}"]
    if fault["type"] == "missing":
        return [f"{place}: is missing" + (f"; {known.kind}" if known else "")]
    if known is None:
        return [f"{place}: must be a table of keys, not {_shown(fault['input'])}"]
    if fault["type"] in ("too_long", "too_short"):
        bound = "at most" if fault["type"] == "too_long" else "at least"
        length = fault["ctx"].get("max_length", fault["ctx"].get("min_length"))
        return [f"{place}: must be {known.kind}, {bound} {length}, not {fault['ctx']['actual_length']}"]
    wanted = known.item if known.item and len(loc) > len(path) else f"must be {known.kind}"
    return [f"{place}: {wanted}, not {_shown(fault['input'])}"]


def _place(source: Source, path: tuple[str, ...]) -> str:
    """File, line where it is known, key."""
    line = source.lines.get(path)
    return f"{source.name}: line {line}: {'.'.join(path)}" if line else f"{source.name}: {'.'.join(path)}"


def _known_path(loc: tuple[str, ...], keys: Sequence[Key]) -> tuple[str, ...]:
    """pydantic ends a place inside a value with the union's member ("int", "str") or the list's index: cut back to the key."""
    paths = {key.path for key in keys}
    return next((loc[:end] for end in range(len(loc), 0, -1) if ".".join(loc[:end]) in paths), loc)


def _nearest(path: tuple[str, ...], keys: Sequence[Key]) -> str:
    """The known key most like this one: in the same table first, then anywhere."""
    table = ".".join(path[:-1])
    level = len(path)
    here = sorted(
        {".".join(key.path.split(".")[:level]) for key in keys if key.path.startswith(f"{table}." if table else "")}
    )
    names = {full.rpartition(".")[2]: full for full in here}
    close = difflib.get_close_matches(path[-1], names, n=1, cutoff=0.6)
    if close:
        return f"did you mean {names[close[0]]}?"
    anywhere = {key.name: key.path for key in keys}
    close = difflib.get_close_matches(path[-1], anywhere, n=1, cutoff=0.75)
    if close:
        return f"did you mean {anywhere[close[0]]}?"
    return "known here: " + ", ".join(names) if names else "no such table"


def _shown(value: Any) -> str:
    text = repr(value) if not isinstance(value, str) else f'"{value}"'
    return text if len(text) <= 40 else text[:37] + "..."
