"""`check`: is everything ready? One line each for camera, frame rate, light, sound, model and disk, with what to do."""

from __future__ import annotations

from pathlib import Path

import click

from trainer.commands.options import CAMERA


@click.command()
@CAMERA
@click.pass_obj
def check(folder: Path | None, camera: int | str | None) -> int:
    """Is everything ready? Camera, frame rate, light, sound, model, disk."""
    from trainer.app.checkup import check_everything
    from trainer.app.context import load_context
    from trainer.commands.console import CONSOLE, report

    ready = True
    for finding in check_everything(load_context(folder, camera__source=camera), reporter=CONSOLE):
        report(f"{finding.state:<8} {finding.title.lower() + ':':<12} {finding.words}")
        ready = ready and finding.state != "problem"
    return 0 if ready else 2
