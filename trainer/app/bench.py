"""How fast everything runs, beside a loop that only decodes and runs the pose model; and what replay costs the live loop."""

from __future__ import annotations

import statistics
import time
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Callable

import numpy as np

from trainer.app import build
from trainer.app.analyse import watch
from trainer.app.clip_process import ClipElsewhere, ClipProcess
from trainer.app.devices import OpensBody, open_body
from trainer.domain.record import Floats
from trainer.feedback.tones import SilentPlayer
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.loop import LiveLoop
from trainer.live.pipeline_session import PipelineSession
from trainer.live.ports import Devices, Display, Reporter
from trainer.resources import data_path
from trainer.settings.model import Settings
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.clip import Clip
from trainer.vision.sources.video_file import VideoFile

WANTED_RATIO = 0.75
MAX_LOSS = 0.03  # of the live loop's frame rate, for keeping frames and showing replays


@dataclass(frozen=True)
class BenchRequest:
    """clip: None is the bundled one; rounds: times each loop is run, in turn, so that all meet the same machine."""

    settings: Settings
    clip: Path | None = None
    rounds: int = 2

    @property
    def path(self) -> Path:
        return self.clip or data_path("demo", "demo.mp4")


@dataclass(frozen=True)
class AnalyseSpeed:
    """Of each loop frames/s and processor time a frame (all threads), which another program beside it hardly moves; loading
    does not count."""

    frames: int
    bare_fps: float
    analyse_fps: float
    bare_ms: float
    analyse_ms: float

    @property
    def ratio(self) -> float:
        return self.analyse_fps / self.bare_fps


@dataclass(frozen=True)
class LiveRun:
    """Seconds of one run of the live loop: wall clock, processor in all, of that drawing and compressing."""

    frames: int
    took_s: float
    worked_s: float
    drawing_s: float
    compressing_s: float

    def ms(self, part_s: float) -> float:
        """Milliseconds a frame."""
        return 1000.0 * part_s / self.frames


@dataclass(frozen=True)
class ReplaySpeed:
    """Runs of the live loop without and with frames kept and replays shown.

    On a machine that is busy with other things wall clocks say little. What replay adds is done by two threads, that of
    the window and that of the ring: their own processor time is told too, beside that of the whole loop.
    """

    without: tuple[LiveRun, ...]
    with_replay: tuple[LiveRun, ...]

    @property
    def frames(self) -> int:
        return self.without[0].frames

    @property
    def fps(self) -> tuple[float, float]:
        """Medians without and with replay, frames/s."""
        without, with_replay = (
            statistics.median(run.frames / run.took_s for run in runs) for runs in (self.without, self.with_replay)
        )
        return without, with_replay

    @property
    def loss(self) -> float:
        """Share of the frame rate."""
        without, with_replay = self.fps
        return 1.0 - with_replay / without

    @property
    def whole_ms(self) -> float:
        """Processor time a frame without replay."""
        return statistics.median(run.ms(run.worked_s) for run in self.without)

    @property
    def drawing_ms(self) -> tuple[float, float]:
        """Of that drawing, without and with replay."""
        without, with_replay = (
            statistics.median(run.ms(run.drawing_s) for run in runs) for runs in (self.without, self.with_replay)
        )
        return without, with_replay

    @property
    def compressing_ms(self) -> float:
        return statistics.median(run.ms(run.compressing_s) for run in self.with_replay)

    @property
    def added(self) -> float:
        """Share of the processor time that replay adds."""
        before, after = self.drawing_ms
        return (after - before + self.compressing_ms) / self.whole_ms


def measure_analyse(request: BenchRequest, body: OpensBody = open_body) -> AnalyseSpeed:
    """body: opens the pose model of the bare loop. Raises ClipError."""
    build.load_code()
    bare, analyse = np.zeros(2), np.zeros(2)  # s by the wall clock, s of processor time
    frames = 0
    with ClipProcess() if ClipProcess.possible() else nullcontext() as reader:  # as the command has
        for _ in range(request.rounds):
            count, took = _bare(request.path, body)
            frames += count
            bare += took
            analyse += _analyse(request.path, request.settings, reader)
    bare_ms, analyse_ms = (1000.0 * float(worked_s) / frames for _, worked_s in (bare, analyse))
    return AnalyseSpeed(frames // request.rounds, frames / bare[0], frames / analyse[0], bare_ms, analyse_ms)


def measure_replay(request: BenchRequest, open_display: Callable[[], Display], reporter: Reporter) -> ReplaySpeed:
    """As fast as the clip goes, each run in a window of its own."""
    runs: dict[bool, list[LiveRun]] = {False: [], True: []}
    for n in range(request.rounds):
        for replay in (False, True) if n % 2 == 0 else (True, False):
            devices = Devices(open_display(), SilentPlayer(), reporter)
            runs[replay].append(_live(request, devices, replay))
    return ReplaySpeed(tuple(runs[False]), tuple(runs[True]))


def _live(request: BenchRequest, devices: Devices, replay: bool) -> LiveRun:
    """The live loop over the clip, loading not counted; nothing is put on record."""
    clock, settings = MonotonicClock(), request.settings
    session = PipelineSession(build.pipeline(settings, build.observer(settings, aside=True)), build.targets(settings))
    config = ReplayConfig("loop", settings.replay.speed, settings.replay.ring_mb)
    again = LiveReplay(config, clock) if replay else None
    loop = LiveLoop(Clip(request.path), lambda: session, devices, clock, replay=again)
    begun, worked, drawing = time.perf_counter(), time.process_time(), time.thread_time()
    summary = loop.run()
    return LiveRun(
        summary.frames,
        time.perf_counter() - begun,
        time.process_time() - worked,
        time.thread_time() - drawing,
        again.ring.worked_s if again is not None else 0.0,
    )


def _times() -> Floats:
    """Wall clock and processor time, s."""
    return np.array([time.perf_counter(), time.process_time()])


def _bare(path: Path, body: OpensBody) -> tuple[int, Floats]:
    """(frames, what they took) of a loop that only decodes and runs the pose model on every frame."""
    model, file = body(), VideoFile(path)
    count = 0
    begun = _times()
    while file.grab() is not None:
        model.find(file.picture())
        count += 1
    took = _times() - begun
    file.close()
    model.close()
    return count, took


def _analyse(path: Path, settings: Settings, reader: ClipProcess | None) -> Floats:
    """What `analyse` takes for the frames of the clip."""
    observer = build.observer(settings, True, reader.body if reader is not None else None)
    pipeline = build.pipeline(settings, observer)
    begun = _times()
    with reader.open(path, settings) if reader is not None else Clip(path) as clip:
        error = watch(clip, pipeline).error
    took = _times() - begun
    if isinstance(clip, ClipElsewhere):
        took[1] += clip.worked_s
    observer.close()
    if error is not None:
        raise error
    return took
