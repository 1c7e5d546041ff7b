"""`putting-trainer` without a command: the start window, where there is a display."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Sequence

NO_DISPLAY = "no display for the start window: give a command"


def start(folder: Path | None) -> bool:
    """Until it is closed. False: there is no display."""
    from trainer.app.context import load_context
    from trainer.ui.start.program import run_start

    return run_start(load_context(folder).settings.window, folder, _start)


def _start(arguments: Sequence[str]) -> object:
    import subprocess

    return subprocess.Popen([sys.executable, "-m", "trainer", *arguments])
