"""The package's errors: one line each, saying what, where and what to do.

Each concrete class also inherits the matching built-in, so that callers may catch either.
"""

from __future__ import annotations

from trainer.texts import join


class TrainerError(Exception):
    """Base of all errors a user may meet. ``str()`` is one line.

    what: the fault; where: file, key or device it concerns; todo: what the user can do.
    """

    def __init__(self, what: str, where: str = "", todo: str = "") -> None:
        self.what, self.where, self.todo = what, where, todo
        super().__init__(self.line())

    def __str__(self) -> str:
        return self.line()

    def line(self) -> str:
        text = join(": ", [part for part in (self.where, self.what) if part])
        text = join("; ", [part for part in (text, self.todo) if part])
        if text.isprintable() and "  " not in text and text == text.strip():
            return text
        # A name from outside may hold anything; what would move the cursor or hide text is not printed.
        return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in " ".join(text.split()))


class SettingsError(TrainerError, ValueError):
    """A settings file or option that cannot be used."""


class ClipError(TrainerError, OSError):
    """A clip that cannot be read."""


class CameraError(TrainerError, OSError):
    """A camera that is missing, busy, lost or too slow."""


class SoundError(TrainerError, RuntimeError):
    """No usable sound device."""


class StoreError(TrainerError, RuntimeError):
    """The record on disk cannot be opened, read or written."""


class UsageError(TrainerError, ValueError):
    """A command called wrongly."""


class TransferError(TrainerError, ValueError):
    """An export file that cannot be used. Nothing was changed."""


class LeftOut(UserWarning):
    """Something that is kept is damaged and was left out; the rest is used. ``str()`` is one line for the user."""

    def __str__(self) -> str:
        line: str = self.args[0]
        return line


def words_of(error: Exception) -> str:
    """Another library's message as part of a line."""
    return " ".join(str(error).split()).rstrip(".") or type(error).__name__
