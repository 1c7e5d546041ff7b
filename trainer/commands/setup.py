"""`setup`: a guided window for camera and player; ends by itself when all is well, and remembers how the camera stands."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.options import CAMERA, CLIP, NO_WINDOW, handedness, student, view
from trainer.errors import UsageError
from trainer.texts import printed, tr

if TYPE_CHECKING:
    from trainer.domain.observation import Handedness


@click.command()
@student("The student whose ranges, height and kept postures are used.")
@CAMERA
@CLIP
@handedness("Default: recognised from the player's stance.")
@view("Default: recognised from the picture.")
@click.option("--level", is_flag=True, help="You have set the camera level by hand; remembered with it.")
@NO_WINDOW
@click.pass_obj
def setup(
    folder: Path | None,
    /,
    student: str | None,
    camera: int | str | None,
    no_window: bool,
    handedness: Handedness | None,
    recorded_fps: float | None,
    **options: Any,
) -> int:
    """Get camera, light, ball and player right: signs and tones lead you, and it ends by itself."""
    from trainer.app.context import load_context
    from trainer.commands.console import report
    from trainer.commands.devices import open_devices, window_first
    from trainer.ui.camera_setup.setup_view import SetupView

    if camera is not None and options["clip"] is not None:
        raise UsageError(tr("a camera and a clip at once"), "--camera, --clip", tr("give one of them"))
    context = load_context(folder, student, camera__source=camera)
    if student is not None:
        handedness = handedness or context.settings.player.handedness
    view = None if no_window else SetupView(context.settings.window.theme)
    with window_first(context.settings, view, "trainer.app.camera_setup") as display:
        if display is None:
            return 2
        from trainer.app.camera_setup import CameraSetupRequest, set_up_camera
        from trainer.app.devices import reading_at

        request = CameraSetupRequest(context, handedness=handedness, **options)
        with open_devices(context.settings, display) as devices:
            result = set_up_camera(request, devices, reading_at(recorded_fps))
    report(result.words)
    if result.done and options["clip"] is None and sys.stdin.isatty():
        from trainer.app.microphone import ask_about_microphone

        ask_about_microphone(context, lambda question: click.confirm(printed(question), default=False))
    return 0 if result.done else 2
