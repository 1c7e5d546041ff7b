"""The terminal as the place where lines for the user go."""

from __future__ import annotations

import sys


class ConsoleReporter:
    """A ``Reporter``: lines to stdout, warnings to stderr, each at once."""

    def report(self, line: str) -> None:
        print(line, flush=True)

    def warn(self, line: str) -> None:
        print(f"putting-trainer: {line}", file=sys.stderr, flush=True)


CONSOLE = ConsoleReporter()
report, warn = CONSOLE.report, CONSOLE.warn
