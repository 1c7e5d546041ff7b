"""`putting-trainer` without a command: the start window, where there is a display."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Sequence

NO_DISPLAY = "no display for the start window: give a command"


def start(folder: Path | None) -> bool:
    """Until it is closed. False: there is no display."""
    from trainer.app.context import load_context
    from trainer.errors import TrainerError
    from trainer.ui.start.program import run_start, show_fault

    try:
        window = load_context(folder).settings.window
    except TrainerError as error:
        if not _terminal():
            show_fault(error.line())
        raise
    return run_start(window, folder, _start)


def _terminal() -> bool:
    """Somebody reads what is printed: it was not begun from a menu."""
    return sys.stderr is not None and sys.stderr.isatty()


def _start(arguments: Sequence[str]) -> object:
    import subprocess

    return subprocess.Popen([sys.executable, "-m", "trainer", *arguments])
