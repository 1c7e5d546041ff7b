"""The terminal as the place where lines for the user go."""

from __future__ import annotations

import sys

from trainer.texts import printed


class ConsoleReporter:
    """A ``Reporter``: lines to stdout, warnings to stderr, each at once."""

    def report(self, line: str) -> None:
        print(printed(line), flush=True)

    def warn(self, line: str) -> None:
        print(f"putting-trainer: {printed(line)}", file=sys.stderr, flush=True)


CONSOLE = ConsoleReporter()
report, warn = CONSOLE.report, CONSOLE.warn
