"""TOML texts from outside: whatever is wrong with one is a ValueError that says what."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from trainer.texts import tr

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

MOST_LETTERS = 1 << 20  # the fullest settings file has some 10 kB; the parsers take far more room than a text


def parsed(text: str) -> dict[str, Any]:
    """Raises ValueError."""
    if len(text) > MOST_LETTERS:
        raise ValueError(tr("is too long, {number} letters", number=len(text)))
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(tr("is not valid TOML: {error}", error=error)) from None
    except RecursionError:
        raise ValueError(tr("is nested too deeply")) from None
    except ValueError:  # a whole number of more digits than Python reads
        raise ValueError(tr("is not valid TOML: a number of too many digits")) from None


def parsed_or_empty(path: Path) -> dict[str, Any]:
    """What a file holds; nothing where it cannot be read or is no TOML."""
    try:
        return parsed(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError):
        return {}
