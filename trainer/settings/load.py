"""Settings files -> one checked `Settings`. All faults at once, each with file, line, key and what is allowed."""

from __future__ import annotations

import difflib
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterable, Mapping, Sequence

from pydantic import BaseModel, ValidationError

from trainer.errors import SettingsError
from trainer.settings.lines import key_lines
from trainer.settings.model import KEYS, FileModel, Key, Settings

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

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
        raise SettingsError("is not a UTF-8 text", str(path), "write settings as a TOML text file") from None
    except OSError as error:
        raise SettingsError(f"cannot be read ({error.strerror})", str(path), "check the path") from None
    return read_text(text, str(path))


def read_text(text: str, name: str) -> Source:
    """A settings text's values, syntax checked only; name: what errors call it. Raises SettingsError."""
    try:
        return Source(name, tomllib.loads(text), key_lines(text))
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"is not valid TOML: {error}", name, "correct that line") from None
    except RecursionError:
        raise SettingsError("is nested too deeply", name, "write plain tables") from None


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
        found = faults_of(source, FileModel, KEYS)
        faults += found
        if not found:
            _overlay(merged, source.values)
    refuse(faults)
    return Settings.checked(merged)


def faults_of(source: Source, model: type[BaseModel], keys: Sequence[Key]) -> list[str]:
    """Every fault of a file against its model, in plain words; keys: the model's documented entries."""
    try:
        model.model_validate(source.values)
    except ValidationError as error:
        return list(dict.fromkeys(_worded(source, fault, keys) for fault in error.errors()))
    return []


def refuse(faults: Sequence[str]) -> None:
    """Raises one SettingsError with all of them; does nothing when there are none."""
    if faults:
        count = "" if len(faults) == 1 else f"{len(faults)} faults: "
        raise SettingsError(count + "; ".join(faults))


def _overlay(base: Values, new: Values) -> None:
    for key, value in new.items():
        if isinstance(value, dict) and isinstance(base.get(key), dict):
            _overlay(base[key], value)
        else:
            base[key] = dict(value) if isinstance(value, dict) else value


def _worded(source: Source, fault: Any, keys: Sequence[Key]) -> str:
    """One fault of pydantic's list in plain words."""
    dotted, path = _known_path(tuple(str(part) for part in fault["loc"]), keys)
    line = source.lines.get(path)
    where = f"{source.name}: line {line}: {dotted}" if line else f"{source.name}: {dotted}"
    if fault["type"] == "extra_forbidden":
        return f"{where}: unknown key, {_nearest(path, keys)}"
    known = {key.path: key for key in keys}.get(dotted)
    if fault["type"] == "missing":
        return f"{where}: is missing" + (f"; {known.kind}" if known else "")
    if known is None:
        return f"{where}: must be a table of keys, not {_shown(fault['input'])}"
    return f"{where}: must be {known.kind}, not {_shown(fault['input'])}"


def _known_path(loc: tuple[str, ...], keys: Sequence[Key]) -> tuple[str, tuple[str, ...]]:
    """pydantic ends a union's place with the member's name ("int", "str"): cut back to the key itself."""
    paths = {key.path for key in keys}
    for end in range(len(loc), 0, -1):
        if ".".join(loc[:end]) in paths:
            return ".".join(loc[:end]), loc[:end]
    return ".".join(loc), loc


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
