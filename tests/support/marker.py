"""A language in which every translated letter is another one: what is still drawn in Latin letters was not translated."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Iterable

from trainer.languages import Language

_FIELDS = re.compile(r"(\{(?:[^{}]|\{[^}]*\})*\})")
_SAME = re.compile(r"`[^`]*`|\S*[/\\.]\S*|--\w+|\bdeg\b")
_LATIN = re.compile(r"[A-Za-z]{3,}")


@dataclass(frozen=True)
class Marker(Language):
    """Every text that is marked is told in Greek letters, values as they are."""

    def pattern(self, one: str, many: str | None = None, count: int | None = None, context: str | None = None) -> str:
        used = many if many is not None and count != 1 else one
        return "".join(part if part.startswith("{") else in_greek(part) for part in _FIELDS.split(used))

    def inside(self, text: str) -> str:
        return text


MARKER = Marker("xx", "Marker")


def in_greek(text: str) -> str:
    return re.sub("[A-Za-z]", "Ω", text)


def latin_in(text: str) -> bool:
    """Words that were not marked; commands, files and what is called the same everywhere left out."""
    return _LATIN.search(_SAME.sub("", text)) is not None


def not_translated(canvas: Any, names: Iterable[str] = ()) -> list[str]:
    """What was drawn lately and holds words that were not marked. names: of people, drills of their own, files."""
    found = []
    for text, *_ in canvas.texts:
        rest = text
        for name in names:
            rest = rest.replace(name, "")
        if latin_in(rest):
            found.append(text)
    return found
