"""What is remembered of a camera that was set up, for the commands that use that camera."""

from __future__ import annotations

from dataclasses import replace

from trainer.app.context import RunContext, report_line
from trainer.camera_setup.camera_memory import Remembered, recall


def remembered(context: RunContext) -> Remembered | None:
    """How the camera of these settings stood when it was last set up; None when it never was."""
    return recall(context.base, str(context.settings.camera.source))


def as_set_up(context: RunContext) -> RunContext:
    """The settings with the view that this camera was set up for, if that is another; said once."""
    known = remembered(context)
    if known is None or known.view == context.settings.camera.view:
        return context
    report_line(f"camera {context.settings.camera.source} was set up {known.view}; --view says otherwise")
    camera = context.settings.camera.model_copy(update={"view": known.view})
    return replace(context, settings=replace(context.settings, camera=camera))
