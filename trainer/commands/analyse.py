"""`analyse`: recorded clips through the same pipeline as live practice, as fast as they go."""

from __future__ import annotations

import json
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import Callable, Iterator, Sequence, TextIO

from rich.console import Console
from rich.progress import Progress

from trainer.app import build
from trainer.app.analysis_json import ClipReport, Judged, as_json
from trainer.app.context import load_context, warn
from trainer.app.strokes import indeterminate_line
from trainer.commands.strokes import stroke_table
from trainer.commands.tables import console
from trainer.domain.observation import Observation
from trainer.errors import ClipError, TrainerError, UsageError
from trainer.files import replacing
from trainer.live.pipeline import Finished, Pipeline
from trainer.live.prefetch import Prefetch
from trainer.posture.analysis import NOT_STANDING, AddressKeeper, setup_at
from trainer.settings.model import Settings
from trainer.ui.export.annotated_clip import AnnotatedVideo
from trainer.vision.sources import camera_timing
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.clip import USUAL_FPS, Clip

UNSEEN_SHARE = 0.2  # a thing unseen in more of the frames than this is worth a warning
NO_STROKE = "no stroke found as {}-handed, {}: are --handedness and --view those of the clip?"
Step = Callable[[], None]


def run_analyse(
    data_folder: Path | None,
    clips: Sequence[Path],
    student: str | None,
    handedness: str | None,
    view: str | None,
    json_to: str | None,
    annotated: Path | None,
) -> int:
    """A clip that cannot be read, or not to its end, is told on stderr; the others are still done. Exit code 2 then."""
    if annotated is not None and len(clips) > 1:
        raise UsageError("one video needs one clip", "--annotated", f"{len(clips)} clips were given")
    settings = load_context(data_folder, student, player__handedness=handedness, camera__view=view).settings
    failed: list[TrainerError] = []
    with _json_out(json_to) as out:
        for path in clips:
            try:
                report, error = analyse_clip(path, settings, annotated)
            except ClipError as unreadable:
                failed.append(unreadable)
                warn(unreadable.line())
                continue
            if out is not None:
                print(json.dumps(as_json(report), allow_nan=False), file=out, flush=True)
            if json_to != "-":
                _show(report)
            if error is not None:
                failed.append(error)
                warn(error.line())
    return 2 if failed else 0


def analyse_clip(path: Path, settings: Settings, annotated: Path | None = None) -> tuple[ClipReport, ClipError | None]:
    """The report of one clip; with the error when it stops short, after all that came before was judged."""
    clip = Clip(path)
    with clip:
        watches = build.observer(settings)
        try:
            fps = clip.nominal_fps or USUAL_FPS
            video = (
                AnnotatedVideo(annotated, fps, build.targets(settings), settings.window.theme) if annotated else None
            )
            with _progress(path.name, clip.frames_said) as tick:
                recorder = AddressKeeper(settings.player.handedness)
                strokes, counts, error = watch(clip, build.pipeline(settings, watches), video, tick, recorder)
            setups = [
                NOT_STANDING if address is None else setup_at(watches.body, address, settings)
                for address in recorder.taken
            ]
        finally:
            watches.close()
        judged = [Judged(s.record, s.verdict, s.cues, setup.checks) for s, setup in zip(strokes, setups, strict=True)]
        timing = camera_timing.timing(counts.times_s)
        warnings = [
            *clip.notices(),
            *counts.warnings(),
            *(camera_timing.warnings(timing) if timing is not None else ()),
        ]
        not_sure = indeterminate_line(stroke.verdict.indeterminate for stroke in judged)
        if not_sure is not None:
            warnings.append(not_sure)
        warnings += [
            f"stroke {n}: {s.record.meta['impact']}" for n, s in enumerate(judged, 1) if "impact" in s.record.meta
        ]
        warnings += [f"stroke {n}: setup: {hint}" for n, setup in enumerate(setups, 1) for hint in setup.hints]
        if not strokes:
            warnings.append(NO_STROKE.format(settings.player.handedness, settings.camera.view))
        if error is not None:
            warnings.append(error.line())
        report = ClipReport(
            name=path.name,
            fps=clip.nominal_fps or clip.measured_fps or USUAL_FPS,
            frames=counts.frames,
            width=clip.size[0],
            height=clip.size[1],
            view=settings.camera.view,
            handedness=settings.player.handedness,
            strokes=judged,
            warnings=warnings,
        )
        return report, error


def watch(
    clip: Clip,
    pipeline: Pipeline,
    video: AnnotatedVideo | None = None,
    tick: Step = lambda: None,
    recorder: AddressKeeper | None = None,
) -> tuple[list[Finished], Counts, ClipError | None]:
    """Every frame through the pipeline. The error is the clip's own, when it stops before its end.

    recorder: takes the address of every stroke, in the order of the strokes.
    """
    strokes: list[Finished] = []
    counts, error = Counts(), None
    ahead = Prefetch(clip, pipeline.find_body, MonotonicClock())
    ahead.start()
    try:
        try:
            for frame, body, _ in ahead:
                step = pipeline.step_with(frame, body)
                counts.add(step.observation)
                if recorder is not None:
                    recorder.add(frame, step)
                if step.finished is not None:
                    strokes.append(step.finished)
                if video is not None:
                    video.add(frame, step)
                tick()
        except ClipError as short:
            error = short
        last = pipeline.finish()
        if last is not None:
            strokes.append(last)
            if recorder is not None:
                recorder.take(last)
        if video is not None:
            video.finish(last)
    finally:
        ahead.close()
        if video is not None:
            video.close()
    return strokes, counts, error


class Counts:
    """How many frames there were and when, and in how many of them each thing was not seen."""

    def __init__(self) -> None:
        self.frames = 0
        self.times_s: list[float] = []
        self._unseen = {"body": 0, "head": 0, "putter": 0, "ball": 0}
        self._view = "face-on"

    def add(self, observation: Observation) -> None:
        self.frames += 1
        self.times_s.append(observation.time_s)
        self._view = observation.view
        for name in self._unseen:
            self._unseen[name] += getattr(observation, name) is None

    def warnings(self) -> list[str]:
        """One line a thing that was often not seen."""
        # A ball leaves when it is hit, and the head's turn is measured face-on only: unseen by nature.
        looked_for = ("body", "head", "putter") if self._view == "face-on" else ("body", "putter")
        shares = {name: self._unseen[name] / max(1, self.frames) for name in looked_for}
        found = [
            f"{name} not seen in {share:.0%} of the frames" for name, share in shares.items() if share > UNSEEN_SHARE
        ]
        if self._unseen["ball"] == self.frames:
            found.append("no ball seen in any frame: strokes count as rehearsals")
        return found


def _show(report: ClipReport) -> None:
    out = console()
    rows = [(n, s.record, s.verdict) for n, s in enumerate(report.strokes, 1)]
    out.print(f"{report.name}: {len(rows)} stroke{'' if len(rows) == 1 else 's'}", soft_wrap=True)
    if rows:
        out.print(stroke_table(rows))
    for line in report.warnings:
        out.print(f"  {line}", soft_wrap=True)


@contextmanager
def _progress(name: str, frames: int | None) -> Iterator[Step]:
    """A bar on a terminal's stderr, nothing elsewhere."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(name, total=frames)
        yield lambda: bar.advance(task)


@contextmanager
def _json_out(target: str | None) -> Iterator[TextIO | None]:
    """Where JSON goes. A file appears whole or not at all: written beside its place, then moved there."""
    if target is None or target == "-":
        yield sys.stdout if target else None
        return
    path = Path(target)
    if path.is_dir():  # told before the work, not after it
        raise UsageError("is a folder", str(path), "give the name of a file")
    try:
        with replacing(path) as part, part.open("w", encoding="utf-8") as out:
            yield out
    except OSError as error:
        if isinstance(error, TrainerError):
            raise
        raise UsageError(f"cannot be written ({error.strerror})", str(path), "choose another file") from None
