"""A hint: what was seen, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.texts import tr


@dataclass(frozen=True, slots=True)
class Hint:
    """``what`` stands alone as a headline; ``todo`` may be empty. ``str()`` is both on one line."""

    what: str
    todo: str = ""

    def __str__(self) -> str:
        return tr("{what}: {todo}", what=self.what, todo=self.todo) if self.todo else self.what

    @classmethod
    def read(cls, line: str) -> Hint:
        """The hint that ``str()`` wrote, from a file."""
        what, _, todo = line.partition(": ")
        return cls(what, todo)
