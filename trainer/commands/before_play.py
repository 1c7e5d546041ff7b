"""`before-play`: ten minutes at most before going out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from trainer.commands.options import CAMERA, CLIP, NO_WINDOW, NUMBER, handedness, student, view
from trainer.commands.practice import PracticeOptions, practise


@click.command("before-play")
@student()
@click.option("--green", "green_speed_ft", type=NUMBER, metavar="FT", help="Today's green speed, in feet as on a sign.")
@CAMERA
@CLIP
@handedness("Which way the player putts.")
@view("From which side the camera sees the player.")
@NO_WINDOW
@click.pass_obj
def before_play(folder: Path | None, /, green_speed_ft: float | None, no_window: bool, **options: Any) -> int:
    """Before play: five holds, putts to today's green, five in silence; changes no limits and ends by itself."""
    from trainer.app.context import load_context
    from trainer.app.distance.green import GreenRequest, set_green

    if green_speed_ft is not None:
        set_green(load_context(folder, options["student"]), GreenRequest(green_speed_ft))
    return practise(folder, PracticeOptions(window=not no_window, before_play=True, **options))
