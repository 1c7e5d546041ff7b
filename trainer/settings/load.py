"""Settings files -> one checked `Settings`. All faults at once, each with file, line, key and what is allowed."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Iterable, Mapping, Sequence

from pydantic import BaseModel, ValidationError

from trainer.domain.verdict import fault_named
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
    """A settings file's values, syntax checked only; editors may mark it as UTF-8 by a byte-order mark. Raises SettingsError
    (missing, unreadable, not TOML)."""
    try:
        text = path.read_text(encoding="utf-8-sig")
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
    return Source(tr("command line"), values, {})


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
    refuse(faults_of(Source(tr("settings"), merged, {}), Settings, KEYS))  # the rules across keys of different sources
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
        count = "" if len(faults) == 1 else tr("{number} faults: ", number=len(faults))
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
        return [join(": ", (_place(source, _known_path((*loc, k) if k else loc, keys)), what)) for k, what in found]
    path = _known_path(loc, keys)
    known = {key.path: key for key in keys}.get(".".join(path))
    return [join(": ", (_place(source, path), _what(fault, loc, path, known, keys)))]


def _what(fault: Any, loc: tuple[str, ...], path: tuple[str, ...], known: Key | None, keys: Sequence[Key]) -> str:
    """What is wrong at a place. known: its documented entry."""
    given = _shown(fault["input"])
    if fault["type"] == "extra_forbidden":
        return tr("unknown key, {nearest}", nearest=_nearest(path, keys))
    if fault["type"] == "missing":
        return tr("is missing; {kind}", kind=known.kind) if known else tr("is missing")
    if known is None:
        return tr("must be a table of keys, not {given}", given=given)
    if fault["type"] in ("too_long", "too_short"):
        length, actual = fault["ctx"].get("max_length", fault["ctx"].get("min_length")), fault["ctx"]["actual_length"]
        if fault["type"] == "too_long":
            return tr("must be {kind}, at most {length}, not {actual}", kind=known.kind, length=length, actual=actual)
        return tr("must be {kind}, at least {length}, not {actual}", kind=known.kind, length=length, actual=actual)
    if known.item and len(loc) > len(path):
        return tr("{item}, not {given}", item=known.item, given=given)
    return tr("must be {kind}, not {given}", kind=known.kind, given=given)


def _place(source: Source, path: tuple[str, ...]) -> str:
    """File, line where it is known, key."""
    line, key = source.lines.get(path), ".".join(path)
    if line:
        return tr("{name}: line {line}: {key}", name=source.name, line=line, key=key)
    return join(": ", (source.name, key)) if source.name else key


def _known_path(loc: tuple[str, ...], keys: Sequence[Key]) -> tuple[str, ...]:
    """pydantic ends a place inside a value with the union's member ("int", "str") or the list's index: cut back to the key."""
    paths = {key.path for key in keys}
    return next((loc[:end] for end in range(len(loc), 0, -1) if ".".join(loc[:end]) in paths), loc)


def _nearest(path: tuple[str, ...], keys: Sequence[Key]) -> str:
    """The known key most like this one: in the same table first, then anywhere; a fault by the name that screens show."""
    fault = fault_named(path[-1])
    tables = {key.table for key in keys}
    if fault is not None and f"limits.{fault}" in tables:
        return tr("did you mean {near}?", near="limits." + fault)
    table = ".".join(path[:-1])
    level = len(path)
    here = sorted(
        {".".join(key.path.split(".")[:level]) for key in keys if key.path.startswith(f"{table}." if table else "")}
    )
    names = {full.rpartition(".")[2]: full for full in here}
    close = difflib.get_close_matches(path[-1], names, n=1, cutoff=0.6)
    if close:
        return tr("did you mean {near}?", near=names[close[0]])
    anywhere = {key.name: key.path for key in keys}
    close = difflib.get_close_matches(path[-1], anywhere, n=1, cutoff=0.75)
    if close:
        return tr("did you mean {near}?", near=anywhere[close[0]])
    return tr("known here: {listed}", listed=", ".join(names)) if names else tr("no such table")


def _shown(value: Any) -> str:
    text = repr(value) if not isinstance(value, str) else f'"{value}"'
    return text if len(text) <= 40 else text[:37] + "..."
