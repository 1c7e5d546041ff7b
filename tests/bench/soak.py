"""The live loop for an hour beside something that counts: frames lost, processor time, memory, threads, open files.

    python -m tests.bench.soak CLIP --fps 60 --size 1280x720 --minutes 60 --out FILE.md

The clip is shown over and over at the pace asked for, its frames as JPEG in memory, as a camera sends them; those that come while
an earlier one is still being looked at are lost, as a camera's are. A line is added to FILE.md every minute. Of Linux: /proc is
read.
"""

from __future__ import annotations

import argparse
import os
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from trainer.app import build
from trainer.app.devices import Devices
from trainer.domain.observation import Frame
from trainer.feedback.tones import SilentPlayer
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.loop import LiveLoop
from trainer.live.pipeline_session import PipelineSession
from trainer.settings.load import load
from trainer.ui.drawing.window import WindowConfig, open_display
from trainer.vision.sources.base import Clock, MonotonicClock, RateMeter, Source
from trainer.vision.sources.clip import Clip
from trainer.worker import Worker

HEAD = """
| minute | frames | lost | processor, ms a frame | memory, MB | threads | open files |
|---|---|---|---|---|---|---|
"""


@dataclass(frozen=True)
class Wish:
    """What is shown. size: width, height px; minutes: how long."""

    clip: Path
    fps: float
    size: tuple[int, int]
    minutes: float


class Looped(Source):
    """A clip over and over like a camera: one frame every ``1 / fps`` seconds of the clock, whether it is taken or not."""

    live = True

    def __init__(self, wish: Wish, clock: Clock) -> None:
        self.name, self.size, self.nominal_fps = wish.clip.name, wish.size, wish.fps
        self._wish, self._clock = wish, clock
        self._sent = sent_pictures(wish)
        self._next = 0
        self._origin_s: float | None = None  # the first frame is on time, whatever was loaded before it
        self._rate = RateMeter()

    def read(self) -> Frame | None:
        if self._origin_s is None:
            self._origin_s = self._clock.now()
        late = max(int((self._clock.now() - self._origin_s) * self._wish.fps - self._next), 0)
        self.dropped += late
        self._next += late
        time_s = self._next / self._wish.fps
        if time_s > 60 * self._wish.minutes:
            return None
        image = cv2.imdecode(self._sent[self._next % len(self._sent)], cv2.IMREAD_COLOR)
        self._clock.sleep(self._origin_s + time_s - self._clock.now())
        frame = Frame(self._next, time_s, image)
        self._next += 1
        self._rate.add(time_s)
        return frame

    @property
    def measured_fps(self) -> float | None:
        return self._rate.fps


def sent_pictures(wish: Wish) -> list[npt.NDArray[np.uint8]]:
    """The clip's frames in the size wished for, each as JPEG."""
    sent = []
    with Clip(wish.clip) as clip:
        for frame in clip:
            image = cv2.resize(frame.image, wish.size)
            sent.append(cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 92])[1])
    return sent


def memory_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


class Counter:
    """Adds a line every ``every_s`` seconds."""

    def __init__(self, loop: LiveLoop, source: Source, out: Path | None, every_s: float) -> None:
        self._loop, self._source, self._out, self._every_s = loop, source, out, every_s
        self.worker = Worker("counting", self._run)
        self.lines: list[str] = []
        self._frames, self._worked_s, self._begun_s = 0, time.process_time(), time.monotonic()

    def _run(self, stop: threading.Event) -> None:
        while not stop.wait(self._every_s):
            self.note()

    def note(self) -> None:
        frames, worked_s = self._loop.summary.frames, time.process_time()
        share_ms = 1000 * (worked_s - self._worked_s) / max(frames - self._frames, 1)
        self._frames, self._worked_s = frames, worked_s
        minute = (time.monotonic() - self._begun_s) / 60
        files = sum(1 for _ in Path("/proc/self/fd").iterdir())
        line = (
            f"| {minute:.1f} | {frames} | {self._source.dropped} | {share_ms:.1f} | {memory_mb():.0f} "
            f"| {threading.active_count()} | {files} |"
        )
        self.lines.append(line)
        print(line, flush=True)
        if self._out is not None:
            with self._out.open("a", encoding="utf-8") as file:
                file.write(line + "\n")


def soak(wish: Wish, out: Path | None, every_s: float = 60.0) -> list[str]:
    """The lines of the table."""
    settings, clock = load([]), MonotonicClock()
    session = PipelineSession(build.pipeline(settings, build.observer(settings)), build.targets(settings))
    display = open_display(True, WindowConfig(settings.window.width, settings.window.height), print)
    replay = LiveReplay(ReplayConfig("loop", settings.replay.speed, settings.replay.ring_mb), clock)
    source = Looped(wish, clock)
    loop = LiveLoop(source, lambda: session, Devices(display, SilentPlayer(), _Quiet()), clock, replay=replay)
    title = (
        f"{wish.clip.name} at {wish.size[0]}x{wish.size[1]}, {wish.fps:g} frames/s, {wish.minutes:g} minutes\n{HEAD}"
    )
    print(title, end="")
    if out is not None:
        with out.open("a", encoding="utf-8") as file:
            file.write("\n" + title.replace("\n\n", "\n"))
    counter = Counter(loop, source, out, every_s)
    counter.worker.start()
    try:
        loop.run()
    finally:
        counter.worker.stop()
        counter.worker.wait(5.0)
    counter.note()
    return counter.lines


class _Quiet:
    def report(self, line: str) -> None:
        """The table says it."""


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.soak", description="The live loop for an hour.")
    parser.add_argument("clip", type=Path)
    parser.add_argument("--fps", type=float, default=60.0)
    parser.add_argument("--size", default="1280x720")
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--every", type=float, default=60.0, help="seconds between two lines")
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    width, height = (int(side) for side in args.size.split("x"))
    soak(Wish(args.clip, args.fps, (width, height), args.minutes), args.out, args.every)


if __name__ == "__main__":
    main()
