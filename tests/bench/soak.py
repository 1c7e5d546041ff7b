"""The live loop for an hour beside something that counts: frames lost, processor time, memory, threads, open files.

    python -m tests.bench.soak CLIP --fps 60 --size 1280x720 --minutes 60 --out FILE.md

A camera (``trainer.vision.sources.camera``, in its own thread) is played by the clip, over and over at the pace asked for, its
frames as JPEG in memory as a USB camera sends them. Up to three that are fetched late wait in the driver, as many as OpenCV has
it keep on Linux (four buffers, one of them being read: DEFAULT_V4L_BUFFERS in its cap_v4l.cpp), more are lost; --buffers 0: each
is. A line is added to FILE.md every minute. At each beginning the player jumps, as none does: what is lost in the second after
it is told apart.
--forth: forward and backward in turn, so that nothing jumps; its strokes backward are none. --slow 6: all clocks run at a
sixth, so that a machine that is busy with other things loses no frame and the processor time a frame, told by thread too, is
that of a machine that keeps up. Of Linux: /proc is read.
"""

from __future__ import annotations

import argparse
import os
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from tests.bench.tables import tell
from trainer.app import build
from trainer.app.devices import Devices
from trainer.domain.observation import Frame
from trainer.feedback.tones import SilentPlayer
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.display_types import Targets
from trainer.live.loop import LiveLoop
from trainer.live.pipeline import Pipeline
from trainer.live.pipeline_session import PipelineSession
from trainer.live.practice_step import PracticeStep
from trainer.settings.load import load
from trainer.ui.drawing.window import WindowConfig, open_display
from trainer.vision.sources.base import Clock
from trainer.vision.sources.camera import Camera
from trainer.vision.sources.camera_device import Mode
from trainer.vision.sources.clip import Clip
from trainer.worker import Worker

HEAD = """
| minute | frames | lost | judged after, ms: median, 99 %, most | processor, ms a frame | memory, MB | threads | open files |
|---|---|---|---|---|---|---|---|
"""
WINDOW = "MainThread"


@dataclass(frozen=True)
class Wish:
    """What is shown. size: width, height px; minutes: how long; slow: how many times as slow the clocks run; forth: forward and
    backward in turn; buffers: pictures that wait in the driver."""

    clip: Path
    fps: float
    size: tuple[int, int]
    minutes: float
    slow: float = 1.0
    forth: bool = False
    buffers: int = 3

    @property
    def title(self) -> str:
        way = " forward and backward" if self.forth else ""
        slow = f", clocks at 1/{self.slow:g}" if self.slow != 1.0 else ""
        size = f"{self.size[0]}x{self.size[1]}"
        return f"{self.clip.name}{way} at {size}, {self.fps:g} frames/s, {self.minutes:g} minutes{slow}\n"


class SlowClock:
    """The machine's own, ``slow`` times as slow."""

    def __init__(self, slow: float) -> None:
        self._slow = slow

    def now(self) -> float:
        return time.monotonic() / self._slow

    def sleep(self, seconds: float) -> None:
        if seconds > 0:
            time.sleep(seconds * self._slow)


class Capture:
    """What OpenCV's capture of a USB camera does: each picture comes when it is due, and waits while there is a buffer for the
    next. late: pictures that waited; missed: those that there was no buffer for."""

    def __init__(self, wish: Wish, clock: Clock) -> None:
        self._wish, self._clock = wish, clock
        self._sent = sent_pictures(wish)
        self._next = 0
        self._origin_s = 0.0
        self.late = self.missed = 0

    def after_jump(self, time_s: float) -> bool:
        """Whether that is in the second after the clip began anew."""
        place = int((time_s - self._origin_s) * self._wish.fps)
        return not self._wish.forth and place >= len(self._sent) and place % len(self._sent) < self._wish.fps

    def isOpened(self) -> bool:
        return True

    def get(self, what: int) -> float:
        return self._wish.fps if what == cv2.CAP_PROP_FPS else 0.0

    def set(self, what: int, value: float) -> bool:
        return False

    def read(self) -> tuple[bool, Any]:
        now_s = self._clock.now()
        if self._next == 0:
            self._origin_s = now_s
        late = max(int((now_s - self._origin_s) * self._wish.fps - self._next), 0)
        self.late += late > 0
        missed = max(late - self._wish.buffers, 0)
        self.missed += missed
        self._next += missed
        self._clock.sleep(self._origin_s + self._next / self._wish.fps - now_s)
        image = cv2.imdecode(self._sent[self._next % len(self._sent)], cv2.IMREAD_COLOR)
        self._next += 1
        return True, image

    def release(self) -> None:
        return


class PlayedCamera(Camera):
    """Until the minutes are over. lost: what the driver missed too; after_jump, otherwise: when that was."""

    def __init__(self, wish: Wish, clock: Clock) -> None:
        self._capture = Capture(wish, clock)
        super().__init__(0, clock, Mode(*wish.size, wish.fps), lambda _: self._capture)
        self._end_s = 60 * wish.minutes
        self._first_s: float | None = None
        self.after_jump = self.otherwise = 0

    def read(self) -> Frame | None:
        frame = super().read()
        if frame is None:
            return None
        self._first_s = frame.time_s if self._first_s is None else self._first_s
        lost = self.lost - self.after_jump - self.otherwise
        if self._capture.after_jump(frame.time_s):
            self.after_jump += lost
        else:
            self.otherwise += lost
        return frame if frame.time_s - self._first_s < self._end_s else None

    @property
    def lost(self) -> int:
        return self.dropped + self._capture.missed

    @property
    def told(self) -> str:
        capture = self._capture
        return (
            f"lost in the second after the clip began anew: {self.after_jump}; otherwise: {self.otherwise}; of all "
            f"{capture.missed} by the driver, {self.dropped} waited too long; fetched late, not lost: {capture.late}"
        )


def sent_pictures(wish: Wish) -> list[npt.NDArray[np.uint8]]:
    """The clip's frames in the size wished for, each as JPEG."""
    sent = []
    with Clip(wish.clip) as clip:
        for frame in clip:
            image = cv2.resize(frame.image, wish.size)
            sent.append(cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 92])[1])
    return sent + sent[-2:0:-1] if wish.forth else sent


def memory_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


class TimedSession(PipelineSession):
    """sounded_s: of each frame with a sound, how long after it was stamped it had been judged."""

    def __init__(self, pipeline: Pipeline, targets: Targets, clock: Clock) -> None:
        super().__init__(pipeline, targets)
        self._clock = clock
        self._after_s: list[float] = []
        self.sounded_s: list[float] = []

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        step = super().step(frame, body)
        after_s = self._clock.now() - frame.time_s
        self._after_s.append(after_s)
        if step.sound is not None:
            self.sounded_s.append(after_s)
        return step

    def taken_after_s(self) -> list[float]:
        """The same of all frames since this was asked for last; a long run keeps no more."""
        taken, self._after_s = self._after_s, []
        return taken


def thread_ms() -> dict[str, float]:
    """Processor time of each thread that runs, by its name."""
    spent = {}
    for thread in threading.enumerate():
        stat = Path(f"/proc/self/task/{thread.native_id}/schedstat")
        if stat.exists():
            spent[thread.name] = int(stat.read_text(encoding="ascii").split()[0]) / 1e6
    return spent


class Counter:
    """Adds a line every ``every_s`` seconds. shares: processor time by thread, ms a frame, since the first line."""

    def __init__(self, loop: LiveLoop, session: TimedSession, camera: PlayedCamera, out: Path | None) -> None:
        self._loop, self._session, self._camera, self._out = loop, session, camera, out
        self.lines: list[str] = []
        self._frames, self._worked_s, self._begun_s = 0, time.process_time(), time.monotonic()
        self._first: tuple[int, dict[str, float]] | None = None
        self.shares: dict[str, float] = {}

    def every(self, every_s: float) -> Worker:
        def run(stop: threading.Event) -> None:
            while not stop.wait(every_s):
                self.note()

        return Worker("counting", run)

    def note(self) -> None:
        frames, worked_s, spent = self._loop.summary.frames, time.process_time(), thread_ms()
        if self._first is None:
            self._first = frames, spent
        elif frames > self._first[0]:
            known = self._first[1]
            self.shares |= {name: (ms - known.get(name, 0.0)) / (frames - self._first[0]) for name, ms in spent.items()}
        share_ms = 1000 * (worked_s - self._worked_s) / max(frames - self._frames, 1)
        self._frames, self._worked_s = frames, worked_s
        after_ms = 1000 * np.array(self._session.taken_after_s() or [np.nan])
        minute = (time.monotonic() - self._begun_s) / 60
        files = sum(1 for _ in Path("/proc/self/fd").iterdir())
        median, most, worst = (float(np.quantile(after_ms, share)) for share in (0.5, 0.99, 1.0))
        self._tell(
            f"| {minute:.1f} | {frames} | {self._camera.lost} | {median:.0f}, {most:.0f}, {worst:.0f} | {share_ms:.1f} "
            f"| {memory_mb():.0f} | {threading.active_count()} | {files} |"
        )

    def end(self) -> None:
        """The threads, the cues and the window."""
        summary = self._loop.summary
        told = ", ".join(f"{name} {ms:.1f}" for name, ms in sorted(self.shares.items(), key=lambda item: -item[1]))
        self._tell(f"\nby thread, ms a frame: {told.replace(WINDOW, 'window')}; window drawn {summary.drawn} times")
        read, stamped = (
            ", ".join(f"{1000 * took_s:.0f}" for took_s in each) or "no cue"
            for each in ([cue.seen_to_sound_s for cue in summary.cues], self._session.sounded_s)
        )
        self._tell(self._camera.told)
        self._tell(f"to sound, ms, from when the frame was read: {read}; from its stamp: {stamped}")
        self._tell(f"strokes {len(summary.strokes)}")

    def _tell(self, line: str) -> None:
        self.lines.append(line)
        tell([line], self._out)


def soak(wish: Wish, out: Path | None, every_s: float = 60.0) -> list[str]:
    """The lines of the table. All code is loaded before, as the start window does before practice."""
    build.load_code()
    settings, clock = load([]), SlowClock(wish.slow)
    session = TimedSession(
        build.pipeline(settings, build.observer(settings, aside=True)), build.targets(settings), clock
    )
    display = open_display(True, WindowConfig(settings.window.width, settings.window.height), print)
    replay = LiveReplay(ReplayConfig("loop", settings.replay.speed, settings.replay.ring_mb), clock)
    camera = PlayedCamera(wish, clock)
    loop = LiveLoop(camera, lambda: session, Devices(display, SilentPlayer(), Quiet()), clock, replay=replay)
    print(wish.title + HEAD, end="")
    if out is not None:
        with out.open("a", encoding="utf-8") as file:
            file.write("\n" + wish.title + HEAD)
    counter = Counter(loop, session, camera, out)
    counting = counter.every(every_s)
    counting.start()
    try:
        loop.run()
    finally:
        counting.stop()
        counting.wait(5.0)
    counter.note()
    counter.end()
    return counter.lines


class Quiet:
    def report(self, line: str) -> None:
        """The table says it."""


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.soak", description="The live loop for an hour.")
    parser.add_argument("clip", type=Path)
    parser.add_argument("--fps", type=float, default=60.0)
    parser.add_argument("--size", default="1280x720")
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--every", type=float, default=60.0, help="seconds between two lines")
    parser.add_argument("--slow", type=float, default=1.0, help="how many times as slow all clocks run")
    parser.add_argument("--forth", action="store_true", help="the clip forward and backward in turn: nothing jumps")
    parser.add_argument("--buffers", type=int, default=3, help="pictures that wait in the camera's driver")
    parser.add_argument("--out", type=Path)
    args = parser.parse_args()
    width, height = (int(side) for side in args.size.split("x"))
    wish = Wish(args.clip, args.fps, (width, height), args.minutes, args.slow, args.forth, args.buffers)
    soak(wish, args.out, args.every)


if __name__ == "__main__":
    main()
