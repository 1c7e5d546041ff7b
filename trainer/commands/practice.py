"""`practice` and `demo`: the live loop on a camera or a paced clip, every stroke kept, a table at the end."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.console import CONSOLE, report
from trainer.commands.options import (
    CAMERA,
    CLIP,
    FILE,
    NO_WINDOW,
    VIEWS,
    Within,
    camera_source,
    handedness,
    student,
    view,
)
from trainer.errors import UsageError
from trainer.log_file import log_run
from trainer.texts import tr

if TYPE_CHECKING:
    from trainer.app.context import RunContext
    from trainer.app.devices import Display
    from trainer.app.practice.practice import Machine, PracticeOutcome, PracticeRequest
    from trainer.domain.observation import View
    from trainer.domain.record import Kind

LEAST_FPS = 15.0  # of a run: fewer lose strokes (app/observations.py)
LOST_SHARE = 0.05  # of a camera's frames; fewer are lost at every start


@dataclass(frozen=True)
class PracticeOptions:
    """As given; None: not given."""

    student: str | None = None
    camera: int | str | None = None
    clip: Path | None = None
    handedness: str | None = None
    view: str | None = None
    window: bool = True
    schedule: str | None = None
    drill: str | None = None
    keep_video: bool | None = None
    second_camera: int | str | None = None
    second_clip: Path | None = None
    second_view: View | None = None
    recorded: Kind | None = None
    strokes: int | None = None
    distance_m: float | None = None
    before_play: bool = False
    recorded_fps: float | None = None


@click.command()
@NO_WINDOW
@click.pass_obj
def demo(folder: Path | None, no_window: bool) -> int:
    """Watch a bundled clip of three strokes with everything at work."""
    from trainer.app.context import load_context

    context = load_context(folder)
    with _window_first(context, not no_window) as display:
        if display is None:
            return 0
        from trainer.app.practice.practice import demo_context, demo_request

        return ended(_run(demo_context(context), demo_request(not no_window), this_machine(display)))


@click.command()
@student()
@CAMERA
@CLIP
@handedness("Which way the player putts.")
@view("From which side the camera sees the player.")
@click.option(
    "--second-camera", metavar="C", type=camera_source, help="A second camera at once, for the other view; or phone."
)
@click.option("--second-clip", metavar="FILE", type=FILE, help="A second clip beside --clip.")
@click.option("--second-view", type=VIEWS, help="Which view it has; default: the other one.")
@click.option("--drill", metavar="DRILL", help="Practise this drill; `drills list` names them.")
@click.option("--distance", "distance_m", type=Within(0.2, 40), metavar="M", help="Length of the putts, in metres.")
@click.option("--keep-video", is_flag=True, default=None, help="Put every stroke's video beside the record.")
@NO_WINDOW
@click.pass_obj
def practice(folder: Path | None, /, **options: Any) -> int:
    """Watch strokes live, sound the cue, keep the record; with --clip too: its strokes are put on record."""
    return practise(folder, PracticeOptions(window=not options.pop("no_window"), **options))


def practise(data_folder: Path | None, options: PracticeOptions, machine: Machine | None = None) -> int:
    """Until the user ends it, the clip ends or the camera is lost. machine: another one than this, in tests."""
    return ended(practised(data_folder, options, machine))


def ended(outcome: PracticeOutcome) -> int:
    """Raises what ended the run early, once all was told."""
    if outcome.failure is not None:
        raise outcome.failure
    return 0


def practised(data_folder: Path | None, options: PracticeOptions, machine: Machine | None = None) -> PracticeOutcome:
    """The same, with what came of it; a failure is in it, not raised."""
    from trainer.app.context import load_context

    if options.camera is not None and options.clip is not None:
        raise UsageError(tr("a camera and a clip at once"), "--camera, --clip", tr("give one of them"))
    context = load_context(
        data_folder,
        options.student,
        camera__source=options.camera,
        player__handedness=options.handedness,
        camera__view=options.view,
        feedback__schedule=options.schedule,
        replay__keep_video=options.keep_video,
    )
    if machine is not None:
        return _practise(context, options, machine)
    with _window_first(context, options.window) as display:
        if display is None:
            return _nothing()
        return _practise(context, options, this_machine(display, options.recorded_fps))


def _nothing() -> PracticeOutcome:
    """Of a run that the user ended before it began."""
    from trainer.app.practice.practice import nothing_done

    return nothing_done()


def _practise(context: RunContext, options: PracticeOptions, machine: Machine) -> PracticeOutcome:
    from trainer.app.camera_setup import as_set_up
    from trainer.app.drills import drill_named
    from trainer.app.practice.practice import PracticeRequest
    from trainer.app.practice.two_cameras import second_camera_request

    if options.clip is None and options.view is None:
        context = as_set_up(context, CONSOLE)
    source = context.settings.camera.source
    second = second_camera_request(
        options.second_camera, options.second_clip, options.second_view, source, options.clip
    )
    drill = drill_named(context.base, options.drill) if options.drill is not None else None
    request = PracticeRequest(
        options.clip,
        options.window,
        drill,
        second,
        recorded=options.recorded,
        strokes=options.strokes,
        distance_m=options.distance_m,
        before_play=options.before_play,
    )
    return _run(context, request, machine)


def _window_first(context: RunContext, wanted: bool) -> AbstractContextManager[Display | None]:
    from trainer.commands.devices import window_first
    from trainer.ui.practice.practice_view import PracticeView

    view = PracticeView(context.settings.window.theme) if wanted else None
    return window_first(context.settings, view, "trainer.app.practice.practice")


def this_machine(display: Display, recorded_fps: float | None = None) -> Machine:
    """The terminal, this window or none, loudspeaker, camera and pose model. recorded_fps: of clips in slow motion."""
    from trainer.app.devices import reading_at
    from trainer.app.practice.practice import Machine
    from trainer.commands.devices import open_devices

    source = reading_at(recorded_fps).source
    return Machine(lambda settings, sounds, window: open_devices(settings, display, sounds), source)


def _run(context: RunContext, request: PracticeRequest, machine: Machine) -> PracticeOutcome:
    from trainer.app.practice.practice import run_practice

    outcome = run_practice(context, request, machine)
    _print(outcome, request.clip is not None)
    return outcome


def _print(outcome: PracticeOutcome, waits: bool) -> None:
    """The table and how the run went. waits: the frames came from a clip, of which none is missed where the machine is slow."""
    from trainer.app.strokes import score_line, uncalled_lines
    from trainer.commands.strokes import stroke_table
    from trainer.commands.tables import console

    summary = outcome.summary
    out = console()
    if summary.strokes:
        out.print(stroke_table((s.number, s.record, s.verdict) for s in summary.strokes))
        whole = score_line([(s.record.kind, s.verdict) for s in summary.strokes])
        for line in (*uncalled_lines([s.verdict for s in summary.strokes]), *([whole] if whole else ())):
            out.print(line, soft_wrap=True, markup=False)
    if summary.first_frame_s is not None:
        first_s = outcome.begun_s + summary.first_frame_s
        log_run(summary.frames, summary.fps, summary.dropped, first_s)
    slow = summary.fps is not None and summary.fps < LEAST_FPS and not waits
    if summary.fps is not None and (slow or summary.dropped > LOST_SHARE * summary.frames):
        out.print(
            tr(
                "{fps:.0f} frames/s were judged and {lost} lost, so strokes may be missed: close other programs, or "
                "set a smaller picture (camera.width and camera.height)",
                fps=summary.fps,
                lost=summary.dropped,
            ),
            soft_wrap=True,
        )
    for line in outcome.result:
        report(line)
