"""`bench`: how much of the pose model's own speed is left when everything else runs too."""

from __future__ import annotations

import statistics
import time
from pathlib import Path
from typing import NamedTuple

from trainer.app import build
from trainer.app.analyse import watch
from trainer.app.context import load_context
from trainer.commands.console import CONSOLE
from trainer.feedback.tones import SilentPlayer
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.loop import LiveLoop
from trainer.live.pipeline_session import PipelineSession
from trainer.live.ports import Devices
from trainer.resources import data_path
from trainer.settings.model import Settings
from trainer.ui.drawing.window import WindowConfig, open_display
from trainer.vision.body.pose import PoseBody
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.clip import Clip

WANTED_RATIO = 0.75
MOST_LOSS = 0.03  # of the live loop's frame rate, for keeping frames and showing replays


def run_bench(data_folder: Path | None, clip: Path | None, rounds: int) -> int:
    """Both loops in turn, ``rounds`` times each, so that both meet the same machine. Loading does not count."""
    path = clip or data_path("demo", "demo.mp4")
    settings = load_context(data_folder).settings
    bare_s = analyse_s = 0.0
    frames = 0
    for _ in range(rounds):
        count, took_s = _bare(path)
        frames += count
        bare_s += took_s
        analyse_s += _analyse(path, settings)
    bare_fps, analyse_fps = frames / bare_s, frames / analyse_s
    print(f"{path.name}: {frames // rounds} frames, each loop {rounds} times in turn")
    print(f"bare loop (decode, pose model): {bare_fps:.1f} frames/s")
    print(f"analyse (everything):           {analyse_fps:.1f} frames/s")
    print(f"ratio:                          {analyse_fps / bare_fps:.2f} (wanted: {WANTED_RATIO} or more)")
    return 0


class LiveRun(NamedTuple):
    """Seconds of one run of the live loop: wall clock, processor in all, of that drawing and compressing."""

    frames: int
    took_s: float
    worked_s: float
    drawing_s: float
    compressing_s: float


def run_bench_replay(data_folder: Path | None, clip: Path | None, rounds: int) -> int:
    """The live loop with its window, as fast as the clip goes, with and without frames kept and replays shown, in turn.

    On a machine that is busy with other things wall clocks say little. What replay adds is done by two threads, that of
    the window and that of the ring: their own processor time is told too, beside that of the whole loop.
    """
    path = clip or data_path("demo", "demo.mp4")
    settings = load_context(data_folder).settings
    runs: dict[bool, list[LiveRun]] = {False: [], True: []}
    for n in range(rounds):
        for replay in (False, True) if n % 2 == 0 else (True, False):
            runs[replay].append(_live(path, settings, replay))
    without, with_replay = (statistics.median(r.frames / r.took_s for r in runs[on]) for on in (False, True))
    print(f"{path.name}: {runs[True][0].frames} frames, each loop {rounds} times in turn; medians")
    print(f"live loop without replay: {without:.1f} frames/s")
    print(f"live loop with replay:    {with_replay:.1f} frames/s")
    print(f"loss:                     {1.0 - with_replay / without:.1%} (wanted: less than {MOST_LOSS:.0%})")

    def ms(on: bool, part: str) -> float:
        return float(statistics.median(1000.0 * getattr(r, part) / r.frames for r in runs[on]))

    whole, added = ms(False, "worked_s"), ms(True, "drawing_s") - ms(False, "drawing_s") + ms(True, "compressing_s")
    print(
        f"processor time a frame:   {whole:.1f} ms in all; drawing {ms(False, 'drawing_s'):.2f} ms without replay, "
        f"{ms(True, 'drawing_s'):.2f} with; compressing {ms(True, 'compressing_s'):.2f}; added {added / whole:+.1%}"
    )
    return 0


def _live(path: Path, settings: Settings, replay: bool) -> LiveRun:
    """The live loop over the clip, loading not counted; nothing is put on record."""
    clock = MonotonicClock()
    session = PipelineSession(build.pipeline(settings, build.observer(settings)), build.targets(settings))
    options = settings.replay
    again = LiveReplay(ReplayConfig("loop", options.speed, options.ring_mb), clock) if replay else None
    display = open_display(True, WindowConfig(settings.window.width, settings.window.height), lambda line: None)
    devices = Devices(display, SilentPlayer(), CONSOLE)
    loop = LiveLoop(Clip(path), lambda: session, devices, clock, replay=again)
    begun, worked, drawing = time.perf_counter(), time.process_time(), time.thread_time()
    summary = loop.run()
    compressing_s = again.ring.worked_s if again is not None else 0.0
    return LiveRun(
        summary.frames,
        time.perf_counter() - begun,
        time.process_time() - worked,
        time.thread_time() - drawing,
        compressing_s,
    )


def _bare(path: Path) -> tuple[int, float]:
    """(frames, s) of a loop that only decodes and runs the pose model."""
    import cv2

    Clip(path).close()  # says in a line what is wrong with the file
    body = PoseBody()
    capture = cv2.VideoCapture(str(path))
    count = 0
    begun = time.perf_counter()
    while True:
        ok, image = capture.read()
        if not ok:
            break
        body.find(image)
        count += 1
    took_s = time.perf_counter() - begun
    capture.release()
    body.close()
    return count, took_s


def _analyse(path: Path, settings: Settings) -> float:
    """Seconds that `analyse` takes for the frames of the clip."""
    watches = build.observer(settings)
    pipeline = build.pipeline(settings, watches)
    begun = time.perf_counter()
    clip = Clip(path)
    with clip:
        _, _, error = watch(clip, pipeline)
    took_s = time.perf_counter() - begun
    watches.close()
    if error is not None:
        raise error
    return took_s
