"""`launcher`: an entry with an icon in the desktop's menu."""

from __future__ import annotations

from pathlib import Path
from typing import Sequence

import click

from trainer.commands.console import report
from trainer.texts import tr


@click.command()
@click.option("--remove", is_flag=True, help="Take it away again.")
@click.pass_obj
def launcher(folder: Path | None, remove: bool) -> int:
    """Put the trainer into the desktop's menu, with an icon."""
    from trainer.app.launcher import place_launcher, remove_launcher, this_machine

    if remove:
        gone = remove_launcher(this_machine())
        for path in gone:
            report(tr("removed {path}", path=path))
        if not gone:
            report(tr("there was no entry"))
        return 0
    arguments = ["--data-folder", str(folder.absolute())] if folder is not None else []
    for path in place_launcher(this_machine(), arguments, _run):
        report(tr("wrote {path}", path=path))
    return 0


def _run(command: Sequence[str]) -> int:
    import subprocess

    try:
        return subprocess.run(command, capture_output=True, timeout=60).returncode
    except (OSError, subprocess.TimeoutExpired):
        return 1
