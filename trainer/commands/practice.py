"""`practice` and `demo`: the live loop on a camera or a paced clip, every stroke kept, a table at the end."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Mapping

from trainer.app.camera_setup import as_set_up
from trainer.app.context import RunContext, load_context
from trainer.app.drills import drill_named
from trainer.app.practice.practice import (
    Machine,
    PracticeOutcome,
    PracticeRequest,
    demo_context,
    demo_request,
    run_practice,
)
from trainer.app.practice.two_cameras import second_camera_request
from trainer.app.strokes import indeterminate_line
from trainer.commands.console import CONSOLE, report
from trainer.commands.devices import open_devices
from trainer.commands.strokes import stroke_table
from trainer.commands.tables import console
from trainer.domain.observation import View
from trainer.domain.record import Kind
from trainer.errors import UsageError
from trainer.feedback.tones import Samples
from trainer.live.ports import Devices
from trainer.settings.model import Settings
from trainer.ui.practice.practice_view import PracticeView


def open_practice_devices(
    settings: Settings, sounds: Mapping[str, Samples], window: bool
) -> AbstractContextManager[Devices]:
    """The terminal, the loudspeaker, and the practice view in a window if there may be one."""
    return open_devices(settings, PracticeView(settings.window.theme) if window else None, sounds)


MACHINE = Machine(open_practice_devices)


@dataclass(frozen=True)
class PracticeOptions:
    """As given; None: not given."""

    student: str | None = None
    camera: str | None = None
    clip: Path | None = None
    handedness: str | None = None
    view: str | None = None
    window: bool = True
    schedule: str | None = None
    drill: str | None = None
    keep_video: bool | None = None
    second_camera: str | None = None
    second_clip: Path | None = None
    second_view: View | None = None
    recorded: Kind | None = None


def practise(data_folder: Path | None, options: PracticeOptions, machine: Machine = MACHINE) -> int:
    """Until the user ends it, the clip ends or the camera is lost."""
    if options.camera is not None and options.clip is not None:
        raise UsageError("a camera and a clip at once", "--camera, --clip", "give one of them")
    context = load_context(
        data_folder,
        options.student,
        camera__source=camera_source(options.camera),
        player__handedness=options.handedness,
        camera__view=options.view,
        feedback__schedule=options.schedule,
        replay__keep_video=options.keep_video,
    )
    if options.clip is None and options.view is None:
        context = as_set_up(context, CONSOLE)
    second = second_camera_request(
        camera_source(options.second_camera),
        options.second_clip,
        options.second_view,
        context.settings.camera.source,
        options.clip,
    )
    drill = drill_named(context.base, options.drill) if options.drill is not None else None
    return _run(
        context, PracticeRequest(options.clip, options.window, drill, second, recorded=options.recorded), machine
    )


def run_demo(data_folder: Path | None, window: bool, machine: Machine = MACHINE) -> int:
    """The bundled clip."""
    return _run(demo_context(load_context(data_folder)), demo_request(window), machine)


def camera_source(text: str | None) -> int | str | None:
    """A number where the text is one."""
    return int(text) if text is not None and text.isdigit() else text


def _run(context: RunContext, request: PracticeRequest, machine: Machine) -> int:
    outcome = run_practice(context, request, machine)
    _print(outcome)
    if outcome.failure is not None:
        raise outcome.failure
    return 0


def _print(outcome: PracticeOutcome) -> None:
    """The table and how the run went."""
    summary = outcome.summary
    out = console()
    if summary.strokes:
        out.print(stroke_table((s.number, s.record, s.verdict) for s in summary.strokes))
        indeterminate = indeterminate_line(s.verdict.indeterminate for s in summary.strokes)
        if indeterminate is not None:
            out.print(indeterminate, soft_wrap=True)
    if summary.first_frame_s is not None:
        rate = f", {summary.fps:.1f} frames/s" if summary.fps else ""
        first_s = outcome.begun_s + summary.first_frame_s
        out.print(f"{summary.frames} frames{rate}, the first {first_s:.1f} s after the start", soft_wrap=True)
    for line in outcome.result:
        report(line)
