"""On which line of a TOML text each key stands. The parsers tell this for broken syntax only, not for a wrong value."""

from __future__ import annotations

from typing import Any, Iterator

from trainer.settings.toml_text import parsed

_LONGEST = 300  # lines of one statement: each more is parsed with all before it


def _leaves(value: Any, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*path, key))


def key_lines(text: str) -> dict[tuple[str, ...], int]:
    """Key path -> line number (from 1) of a text that parses as a whole; the first line where a path appears counts.

    A statement (table header, or key = value over one or more lines) that parses alone is a whole one. After one that is
    very long nothing is told any more.
    """
    found: dict[tuple[str, ...], int] = {}
    prefix: tuple[str, ...] = ()
    pending, start = "", 0
    for number, line in enumerate(text.split("\n"), 1):
        if not pending:
            start = number
        pending += line + "\n"
        if number - start > _LONGEST:
            break
        try:
            values = parsed(pending)
        except ValueError:  # no whole statement yet
            continue
        statement, pending = pending.strip(), ""
        header = statement.startswith("[")
        if header:
            prefix = ()
        paths = [p for key, value in values.items() for p in _leaves(value, (*prefix, key))]
        if header and paths:
            prefix = paths[-1]
        for path in paths:
            found.setdefault(path, start)
    return found
