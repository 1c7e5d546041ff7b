"""The commands of setting up: options only, as in cli.py."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

_CAMERA = click.option("--camera", metavar="C", help="Camera number, device path or stream address.")
_STUDENT = click.option("--student", metavar="NAME", help="Whose ranges, height and kept postures.")
_HAND = click.option("--handedness", type=click.Choice(["right", "left"]), help="Else recognised from the address.")
_VIEW = click.option(
    "--view", type=click.Choice(["face-on", "down-the-line"]), help="Else recognised from the picture."
)
_NO_WINDOW = click.option("--no-window", is_flag=True, help="Sound and text only.")


@click.command()
@_STUDENT
@_CAMERA
@click.option("--image", metavar="FILE", type=click.Path(path_type=Path), help="A photo in place of the camera.")
@click.option("--clip", metavar="FILE", type=click.Path(path_type=Path), help="A clip: its first still address.")
@click.option("--at", "at_s", metavar="S", type=click.FloatRange(min=0), help="That second of the clip.")
@click.option("--live", is_flag=True, help="Play the clip as if it were a camera.")
@_HAND
@_VIEW
@click.option("--save", is_flag=True, help="Keep picture and numbers with the student.")
@click.option("--label", default="", metavar="WORD", help="What the kept posture is called.")
@click.option("--list", "list_all", is_flag=True, help="The student's kept postures.")
@click.option(
    "--compare", nargs=2, metavar="BEFORE AFTER", help="Two kept ones: first, last, reference, a label or name."
)
@click.option("--reference", metavar="WHICH", help="Make a kept posture the student's reference.")
@click.option("--ranges", is_flag=True, help="With --reference: the student's ranges become those around it.")
@click.option("--out", metavar="FILE.png", type=click.Path(path_type=Path), help="Write the picture with all lines.")
@click.option("--json", "json_to", metavar="FILE|-", help="Write the numbers as JSON; - is stdout.")
@_NO_WINDOW
@click.pass_obj
def posture(folder: Path | None, /, **options: Any) -> int:
    """How the player stands: lines, angles and what to change; a tone when all is well.

    With a camera it goes on until you end it; with --image or --clip it tells of one picture.
    """
    from trainer.commands.posture import run_posture

    options["window"] = not options.pop("no_window")
    return run_posture(folder, **options)


COMMANDS: tuple[click.Command, ...] = (posture,)
