"""Recorded clips through the same pipeline as live practice, as fast as they go: every stroke judged, every address measured."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Callable, ContextManager, Iterator, Protocol

from trainer.app import build
from trainer.app.analyse_jobs import Processes, in_order
from trainer.app.analysis_json import ClipReport, Judged
from trainer.app.clip_pace import ClipPace, SlowMotion
from trainer.app.clip_process import ClipElsewhere, ClipProcess
from trainer.app.strokes import uncalled_lines
from trainer.app.visibility import Visibility
from trainer.domain.observation import Frame
from trainer.errors import ClipError
from trainer.live.pipeline import Finished, Pipeline, StepResult
from trainer.live.prefetch import run_in_turn, run_pipeline, short_turns
from trainer.posture.stroke_address import NOT_STANDING, AddressRecorder, setup_at
from trainer.processors import usable_processors
from trainer.settings.model import Settings
from trainer.stroke import filters
from trainer.texts import tr
from trainer.vision.body.pose import BodyTracker, PoseModels
from trainer.vision.sources import camera_timing
from trainer.vision.sources.base import MonotonicClock, Source
from trainer.vision.sources.clip import Clip
from trainer.vision.sources.video_file import USUAL_FPS
from trainer.worker import Worker

Step = Callable[[], None]
Progress = Callable[[str, "int | None"], ContextManager[Step]]  # a clip's name, frames in it -> what is called at each


class ClipWriter(Protocol):
    """Writes a clip with what was observed drawn in."""

    def add(self, frame: Frame, step: StepResult) -> None:
        """The next frame with what it gave."""

    def finish(self, finished: Finished | None) -> None:
        """After the last frame, with the stroke that was still under way."""

    def close(self) -> None:
        """Completes the file. Raises UsageError if it came to nothing."""

    def abandon(self) -> None:
        """Leaves no file. Does nothing after ``close``."""


OpensWriter = Callable[[float, Settings], ClipWriter]  # frames/s


@dataclass(frozen=True)
class AnalyseRequest:
    """clips: each is judged by the same settings. recorded_fps: frames a second when they were taken, None: as they say.

    ahead: bodies are found in a thread of their own, which takes a fifth more processor time and is faster with a core to spare.
    """

    clips: tuple[Path, ...]
    settings: Settings
    recorded_fps: float | None = None
    ahead: bool = True


@dataclass(frozen=True)
class ClipResult:
    """report: None when the clip cannot be read; error: it cannot, or it stops before its end."""

    report: ClipReport | None
    error: ClipError | None = None


@contextmanager
def no_progress(_name: str, _frames: int | None) -> Iterator[Step]:
    yield lambda: None


def analyse(
    request: AnalyseRequest,
    open_writer: OpensWriter | None = None,
    progress: Progress = no_progress,
    processes: Processes | None = None,
    reader: ClipProcess | None = None,
) -> Iterator[ClipResult]:
    """Each clip in turn, as soon as it and those before it are judged. open_writer: for an annotated copy; processes: to judge as
    many clips at once, without it; reader: reads them and finds bodies ahead, None: a thread does.

    Raises UsageError when that cannot be written.
    """
    if processes is not None:
        with progress(tr("{number} clips", number=len(request.clips)), len(request.clips)) as tick:
            each = replace(request, ahead=processes.count < usable_processors())
            yield from in_order(processes.done(_result_again, request.clips, each), tick)
        return
    if reader is not None:
        # Beside the first frames, which leave some of this core idle: nothing needs it before a stroke is over.
        Worker("filters", lambda _: filters.load()).start()
    for path in request.clips:
        yield result_of(path, request, open_writer, progress, reader)


def result_of(
    path: Path,
    request: AnalyseRequest,
    open_writer: OpensWriter | None = None,
    progress: Progress = no_progress,
    reader: ClipProcess | None = None,
    body: BodyTracker | None = None,
) -> ClipResult:
    """One clip, or why it cannot be read. body: as in ``build.observer``; that of the reader, where there is one."""
    try:
        clip: Clip | ClipElsewhere
        if reader is not None:
            clip, body = reader.open(path, request.settings, request.recorded_fps), reader.body
        else:
            clip = Clip(path, recorded_fps=request.recorded_fps)
        return ClipResult(
            *analyse_opened(clip, path.name, request.settings, open_writer, progress, request.ahead, body)
        )
    except ClipError as unreadable:
        return ClipResult(None, unreadable)


@lru_cache(maxsize=1)
def _models() -> PoseModels:
    """Of a process that judges one clip after the other."""
    return PoseModels()


def _result_again(path: Path, request: AnalyseRequest) -> ClipResult:
    """``result_of`` in such a process."""
    return result_of(path, request, body=build.pose_body(request.settings, _models()))


def analyse_clip(
    path: Path, settings: Settings, progress: Progress = no_progress, recorded_fps: float | None = None
) -> tuple[ClipReport, ClipError | None]:
    """The report of one clip; with the error when it stops short, after all that came before was judged. Raises SlowMotion."""
    return analyse_opened(Clip(path, recorded_fps=recorded_fps), path.name, settings, progress=progress)


def analyse_opened(
    clip: Clip | ClipElsewhere,
    name: str,
    settings: Settings,
    open_writer: OpensWriter | None = None,
    progress: Progress = no_progress,
    ahead: bool = True,
    body: BodyTracker | None = None,
) -> tuple[ClipReport, ClipError | None]:
    """The same of one that is open already; it is closed."""
    with clip:
        observer = build.observer(settings, ahead, body)
        try:
            fps = clip.nominal_fps or USUAL_FPS
            writer = open_writer(fps, settings) if open_writer is not None else None
            with progress(name, clip.frames_said) as tick:
                recorder = AddressRecorder()
                guarded = build.guarded(observer)
                watched = watch(clip, build.pipeline(settings, guarded), writer, tick, recorder, ahead)
            setups = [
                NOT_STANDING if address is None else setup_at(observer.body, address, settings)
                for address in recorder.addresses
            ]
        finally:
            observer.close()
        judged = [
            Judged(s.record, s.verdict, s.cues, setup.checks) for s, setup in zip(watched.strokes, setups, strict=True)
        ]
        timing = camera_timing.timing(watched.times_s)
        warnings = [
            *clip.notices(),
            *watched.seen.warnings(),
            *(camera_timing.warnings(timing) if timing is not None else ()),
        ]
        warnings += uncalled_lines([stroke.verdict for stroke in judged])
        warnings += [
            tr("stroke {n}: {impact_warning}", n=n, impact_warning=s.record.context.impact_warning)
            for n, s in enumerate(judged, 1)
            if s.record.context.impact_warning
        ]
        warnings += [
            tr("stroke {n}: setup: {hint}", n=n, hint=hint) for n, setup in enumerate(setups, 1) for hint in setup.hints
        ]
        if settings.camera.view == "down-the-line":
            # From there little of a stroke is judged, but how the player stands is.
            to_mend = [(n, setup.to_mend) for n, setup in enumerate(setups, 1)]
            warnings += [tr("stroke {n}: setup: {hint}", n=n, hint=hint) for n, hint in to_mend if hint is not None]
        if not watched.strokes:
            warnings.append(watched.seen.no_stroke(settings))
        if watched.error is not None:
            warnings.append(watched.error.line())
        report = ClipReport(
            name=name,
            fps=clip.nominal_fps or clip.measured_fps or USUAL_FPS,
            frames=watched.seen.frames,
            width=clip.size[0],
            height=clip.size[1],
            view=settings.camera.view,
            handedness=settings.player.handedness,
            strokes=judged,
            warnings=warnings,
        )
        return report, watched.error


@dataclass(frozen=True)
class Watched:
    """All of a clip. error: the clip's own, when it stopped before its end."""

    strokes: list[Finished]
    seen: Visibility
    times_s: list[float]
    error: ClipError | None


def watch(
    clip: Source,
    pipeline: Pipeline,
    writer: ClipWriter | None = None,
    tick: Step = lambda: None,
    recorder: AddressRecorder | None = None,
    ahead: bool = True,
) -> Watched:
    """Every frame through the pipeline. Raises SlowMotion for a clip that does not say so.

    recorder: takes the address of every stroke, in the order of the strokes; ahead: as in ``AnalyseRequest``.
    """
    strokes: list[Finished] = []
    times_s: list[float] = []
    seen, pace, error = Visibility(), ClipPace(clip), None
    try:
        try:
            with short_turns():
                for frame, step in _steps(clip, pipeline, ahead):
                    seen.add(step.observation, step.moment.phase)
                    times_s.append(frame.time_s)
                    pace.see(step)
                    if recorder is not None:
                        recorder.add(frame, step.observation, step.moment)
                    if step.finished is not None:
                        strokes.append(step.finished)
                    if writer is not None:
                        writer.add(frame, step)
                    tick()
        except SlowMotion:
            raise
        except ClipError as short:
            error = short
        last = pipeline.finish()
        if error is None:
            pace.end(last)
        if last is not None:
            strokes.append(last)
            if recorder is not None:
                recorder.end_stroke(last.record)
        if writer is not None:
            writer.finish(last)
            writer.close()
    finally:
        if writer is not None:
            writer.abandon()
    return Watched(strokes, seen, times_s, error)


def _steps(clip: Source, pipeline: Pipeline, ahead: bool) -> Iterator[tuple[Frame, StepResult]]:
    """Each frame with what it gave."""
    if isinstance(clip, ClipElsewhere):
        for frame, body, _ in clip.found():
            yield frame, pipeline.step(frame, body)
        return
    run = run_pipeline if ahead else run_in_turn
    for frame, step, _ in run(clip, pipeline, MonotonicClock()):
        yield frame, step
