"""What the loop and the use cases above it need of the world outside, as protocols: whoever runs them hands these in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping, Protocol

from trainer.feedback.tones import Samples, TonePlayer

# What a display may be told by its user beside orders; its keys are in ``keys``.
QUIT, PAUSE, MUTE, THEME, SAVE = "quit", "pause", "mute", "theme", "save"

Sounds = Mapping[str, Samples]  # name -> what is heard


class Reporter(Protocol):
    """Where lines for the user go: the terminal, a window, a list in a test. Called from any thread."""

    def report(self, line: str) -> None:
        """One line that is neither error nor result."""

    def warn(self, line: str) -> None:
        """One line about what went wrong, where the program still goes on."""


class Display(Protocol):
    """Where states are shown. Used from the main thread only: window events belong to it."""

    @property
    def visible(self) -> bool:
        """Whether there is anything to look at."""

    def poll(self) -> list[str]:
        """Commands given since the last call: those of ``keys``, and what became of the loudspeaker."""

    def show(self, state: Any) -> None:
        """Shows it now."""

    def close(self) -> None:
        """May be called twice."""


@dataclass(frozen=True)
class Devices:
    """What a run shows, sounds and reports on."""

    display: Display
    tones: TonePlayer
    reporter: Reporter
