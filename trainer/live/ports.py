"""What the loop and the use cases above it need of the world outside, as protocols: whoever runs them hands these in."""

from __future__ import annotations

from typing import Protocol


class Reporter(Protocol):
    """Where lines for the user go: the terminal, a window, a list in a test. Called from any thread."""

    def report(self, line: str) -> None:
        """One line that is neither error nor result."""

    def warn(self, line: str) -> None:
        """One line about what went wrong, where the program still goes on."""
