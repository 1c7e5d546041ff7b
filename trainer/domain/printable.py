"""Names that come from people, made fit to be printed."""

from __future__ import annotations

from trainer.texts import join

MAX_LETTERS = 60


def printable(name: str) -> str:
    """A name as it may be printed: no control characters, not too long."""
    plain = join("", (c if c.isprintable() else "�" for c in name))
    return plain if len(plain) <= MAX_LETTERS else plain[: MAX_LETTERS - 3] + "..."
