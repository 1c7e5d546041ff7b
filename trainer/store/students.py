"""Students' files: one TOML each in students/ of the data folder. A name is data, never a path.

A file's own name is made of letters of the student's name, only to be found by people, and of the student's id; whose
file it is stands inside. Edits keep comments and order.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Mapping, Sequence

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from trainer.domain.naming import folded
from trainer.domain.printable import printable
from trainer.errors import SettingsError, StoreError, UsageError
from trainer.settings.load import Source, load, read_file, read_text
from trainer.settings.model import Card, Settings
from trainer.settings.toml_text import parsed_or_empty
from trainer.store.folder import files_in, write_atomically
from trainer.texts import join, tr

FOLDER = "students"


@dataclass(frozen=True, slots=True)
class StudentFile:
    """A student as kept. source: the file's own values; settings: checked, with all defaults."""

    path: Path
    source: Source
    settings: Settings
    card: Card

    @property
    def name(self) -> str:
        return self.settings.player.name


def file_name(name: str, student_id: str) -> str:
    """Letters, digits and - only, whatever the name holds; never a name that a system keeps for itself."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    letters = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:32].strip("-")
    return f"{letters or 'student'}-{student_id[:8]}.toml"


def student_of(path: Path) -> StudentFile:
    """Reads and checks one file. Raises SettingsError. A file without a name is called after itself."""
    source = with_name(read_file(path), path.stem)
    settings = load([source])
    return StudentFile(path, source, settings, Card.model_validate(source.values.get("student", {})))


def with_name(source: Source, stem: str) -> Source:
    """The values with the file's own name for a student who has none in it."""
    player = source.values.get("player", {})
    if not isinstance(player, dict) or "name" in player:
        return source
    return Source(source.name, {**source.values, "player": {**player, "name": stem[:60]}}, source.lines)


class Students:
    """All students of a data folder."""

    def __init__(self, base: Path) -> None:
        self.folder = base / FOLDER

    def paths(self) -> list[Path]:
        return files_in(self.folder, ".toml")

    def all(self) -> tuple[list[StudentFile], list[SettingsError]]:
        """The students, by name, and what is wrong with the files that cannot be used."""
        good, bad = [], []
        for path in self.paths():
            try:
                good.append(student_of(path))
            except SettingsError as error:
                bad.append(error)
        return sorted(good, key=lambda s: folded(s.name)), bad

    def names(self) -> dict[str, Path]:
        """Name in each file -> file, without checking the rest of it."""
        found: dict[str, Path] = {}
        for path in self.paths():
            player = parsed_or_empty(path).get("player", {})
            name = player.get("name") if isinstance(player, dict) else None
            found.setdefault(name if isinstance(name, str) else path.stem, path)
        return found

    def find(self, name: str) -> StudentFile:
        """By name, whatever its capitals, or by the file's own name. Raises UsageError when there is none."""
        return student_of(self.find_path(name))

    def find_path(self, name: str) -> Path:
        """The file of that student, which need not be a sound one."""
        known = self.names()
        for test in (lambda n, p: n == name, lambda n, p: folded(n) == folded(name), lambda n, p: p.stem == name):
            for own, path in known.items():
                if test(own, path):
                    return path
        raise UsageError(tr("no student {name}", name=printable(name)), str(self.folder), self._hint(name, list(known)))

    def by_id(self, student_id: str) -> StudentFile | None:
        """The student of that id. Raises SettingsError when a file that holds the id cannot be used."""
        for path in self.paths():
            try:
                holds = bool(student_id) and student_id in path.read_text(encoding="utf-8-sig")
            except (OSError, UnicodeDecodeError):  # a file that cannot be read is nobody's
                continue
            if holds:
                found = student_of(path)
                if found.card.id == student_id:
                    return found
        return None

    def _hint(self, name: str, known: Sequence[str]) -> str:
        import difflib

        near = difflib.get_close_matches(name, known, n=1)
        if near:
            return tr("did you mean {near}?", near=printable(near[0]))
        if known:
            listed = join(", ", (printable(n) for n in known[:20])) + (", ..." if len(known) > 20 else "")
            return tr("known: {listed}", listed=listed)
        return tr("none yet: `students add NAME` makes one")

    def add(self, name: str, student_id: str, changes: Mapping[str, Any]) -> StudentFile:
        """A new student's file. changes: dotted key -> value. Raises SettingsError, UsageError."""
        if any(folded(own) == folded(name) for own in self.names()):
            raise UsageError(
                tr("there is already a student {name}", name=printable(name)),
                str(self.folder),
                tr("choose another name"),
            )
        text = edited("", {"player.name": name, **changes, "student.id": student_id})
        check_values({"player.name": name, **changes})
        path = self.folder / file_name(name, student_id)
        write_atomically(path, text.encode("utf-8"))
        return student_of(path)

    def change(self, student: StudentFile, changes: Mapping[str, Any]) -> StudentFile:
        """The same file with other values (None: the key is taken out); comments and order stay. Raises SettingsError,
        and then the file is as it was."""
        try:
            text = student.path.read_text(encoding="utf-8-sig")
        except OSError as error:
            raise SettingsError(
                tr("cannot be read ({strerror})", strerror=error.strerror), str(student.path), tr("check the path")
            ) from None
        check_values(changes)
        new = edited(text, changes)
        checked_text(student.path, new)
        write_atomically(student.path, new.encode("utf-8"))
        return student_of(student.path)

    def rename(self, student: StudentFile, name: str, changes: Mapping[str, Any]) -> StudentFile:
        """Another name; the id, and so the record, stays. The file gets a name that fits."""
        others = [own for own, path in self.names().items() if path != student.path]
        if any(folded(own) == folded(name) for own in others):
            raise UsageError(
                tr("there is already a student {name}", name=printable(name)),
                str(self.folder),
                tr("choose another name"),
            )
        renamed = self.change(student, {"player.name": name, **changes})
        target = self.folder / file_name(name, renamed.card.id)
        if renamed.card.id and target != renamed.path and not target.exists():
            renamed.path.rename(target)
            return student_of(target)
        return renamed


def copies_of(path: Path, student_id: str) -> list[Path]:
    """The other files beside a student's own that hold the same id, whatever they are called. Raises StoreError."""
    if not student_id:
        return []
    found = []
    for other in files_in(path.parent, ""):
        if other != path and other.is_file() and student_id.encode() in _bytes_of(other):
            found.append(other)
    return found


def _bytes_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise StoreError(
            tr("cannot be read ({strerror})", strerror=error.strerror), str(path), tr("allow reading it, or check it")
        ) from None


def check_values(changes: Mapping[str, Any]) -> None:
    """Raises SettingsError for values that cannot be, before they are in a file whose lines could be named."""
    given = {key: value for key, value in changes.items() if value is not None}
    load([Source("", read_text(edited("", given), "").values, {})])


def checked_text(path: Path, text: str) -> None:
    """Raises SettingsError, naming the file, unless the text is a student's file without fault."""
    load([read_text(text, str(path))])


def edited(text: str, changes: Mapping[str, Any]) -> str:
    """The TOML text with other values; what is not changed stays as written. Raises SettingsError."""
    try:
        document = tomlkit.parse(text)
        for dotted, value in changes.items():
            *tables, key = dotted.split(".")
            place: Any = document
            for i, name in enumerate(tables):
                if name not in place:
                    if value is None:
                        break
                    deeper = i < len(tables) - 1
                    place[name] = tomlkit.table(is_super_table=deeper)
                if not isinstance(place[name], (Table, dict)):
                    raise SettingsError(
                        tr("{listed} is no table", listed=join(".", tables[: i + 1])), "", tr("correct the file")
                    )
                place = place[name]
            else:
                if value is None:
                    place.pop(key, None)
                else:
                    place[key] = value
        return tomlkit.dumps(document)
    except (TOMLKitError, RecursionError, ValueError) as error:
        raise SettingsError(tr("cannot be edited: {error}", error=error), "", tr("correct the file by hand")) from None
