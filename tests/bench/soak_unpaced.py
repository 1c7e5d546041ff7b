"""What a long session keeps in memory, soon told: the live loop as fast as it goes, all clocks moved by the pictures.

    python -m tests.bench.soak_unpaced CLIP --strokes 120 --every 20 --seen

The loop, its threads, camera, replay and window are those of ``tests.bench.soak``; a picture comes when an earlier one has been
judged, so none is lost. --seen: the clip is looked at once beforehand, and then the same is seen again and again: less
processor time, without what vision itself may keep. Of Linux' glibc: mallinfo2 is asked (malloc.h).
"""

from __future__ import annotations

import argparse
import ctypes
import sys
import threading
import time
from pathlib import Path
from typing import Any, Sequence

import cv2
import numpy as np
import numpy.typing as npt

from tests.bench.soak import Quiet, Wish, memory_mb, sent_pictures
from tests.support.practice_stage import WatchesAgain
from trainer.app import build
from trainer.app.devices import Devices
from trainer.domain.observation import Frame
from trainer.feedback.tones import SilentPlayer
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.loop import LiveLoop
from trainer.live.pipeline import Watches
from trainer.live.pipeline_session import PipelineSession
from trainer.live.practice_step import PracticeStep
from trainer.settings.load import load
from trainer.ui.drawing.window import WindowConfig, open_display
from trainer.vision.sources.camera import Camera
from trainer.vision.sources.camera_device import Mode

HEAD = """
| strokes | frames | memory, MB | C's in use | C's kept free | Python's blocks, thousands | replay's pictures, MB | processor, s |
|---|---|---|---|---|---|---|---|"""
AHEAD = 3  # pictures that come before the first of them was judged
WAIT_S = 0.5  # of the machine's own clock: whoever waits looks at least so often


class PictureClock:
    """Moved on by each picture, and by a hair whenever it is looked at: two looks are never the same."""

    def __init__(self, fps: float) -> None:
        self._change, self._step_s = threading.Condition(), 1 / fps
        self._now_s = 0.0

    def now(self) -> float:
        with self._change:
            self._now_s += 1e-9
            return self._now_s

    def move(self) -> None:
        with self._change:
            self._now_s += self._step_s
            self._change.notify_all()

    def sleep(self, seconds: float) -> None:
        """Returns too when no picture comes any more."""
        end_s = self.now() + seconds
        with self._change:
            self._change.wait_for(lambda: self._now_s >= end_s, WAIT_S)


class Capture:
    """A camera that waits for what judges its pictures."""

    def __init__(self, sent: Sequence[npt.NDArray[np.uint8]], clock: PictureClock, fps: float) -> None:
        self._sent, self._clock, self._fps = sent, clock, fps
        self._next = 0
        self.judged = threading.Semaphore(AHEAD)

    def isOpened(self) -> bool:
        return True

    def get(self, what: int) -> float:
        return self._fps if what == cv2.CAP_PROP_FPS else 0.0

    def set(self, what: int, value: float) -> bool:
        return False

    def read(self) -> tuple[bool, Any]:
        if not self.judged.acquire(timeout=WAIT_S):
            return False, None
        self._clock.move()
        image = cv2.imdecode(self._sent[self._next % len(self._sent)], cv2.IMREAD_COLOR)
        self._next += 1
        return True, image

    def release(self) -> None:
        return


class EndingCamera(Camera):
    """Until ``over``."""

    over = False

    def read(self) -> Frame | None:
        return None if self.over else super().read()


class MallInfo(ctypes.Structure):
    """struct mallinfo2 of malloc.h: bytes."""

    _fields_ = [
        (name, ctypes.c_size_t)
        for name in ("arena", "ordblks", "smblks", "hblks", "hblkhd", "usmblks", "fsmblks", "used", "free", "keepcost")
    ]


def of_c_mb() -> tuple[float, float]:
    """In use, and kept though free."""
    asked = ctypes.CDLL(None).mallinfo2
    asked.restype = MallInfo
    found = asked()
    return found.used / 1e6, found.free / 1e6


class Counted(PipelineSession):
    """Tells ``each`` of the number of strokes so far when one is over, and the capture of each picture that was judged."""

    def __init__(self, pipeline: Any, targets: Any, capture: Capture, each: Any) -> None:
        super().__init__(pipeline, targets)
        self._capture, self._each, self._strokes = capture, each, 0

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        step = super().step(frame, body)
        self._capture.judged.release()
        if step.finished is not None:
            self._strokes += 1
            self._each(self._strokes)
        return step


def observer(wish: Wish, sent: Sequence[npt.NDArray[np.uint8]], seen: bool) -> Watches:
    """seen: what an observer makes of the pictures once."""
    looks = build.observer(load([]), aside=not seen)
    if not seen:
        return looks
    frames = (Frame(i, i / wish.fps, cv2.imdecode(jpeg, cv2.IMREAD_COLOR)) for i, jpeg in enumerate(sent))
    again = WatchesAgain([looks.see(frame) for frame in frames])
    looks.close()
    return again


def soak(wish: Wish, strokes: int, every: int, seen: bool) -> None:
    """Prints the table."""
    build.load_code()
    settings, clock, sent = load([]), PictureClock(wish.fps), sent_pictures(wish)
    capture = Capture(sent, clock, wish.fps)
    camera = EndingCamera(0, clock, Mode(*wish.size, wish.fps), lambda _: capture)
    replay = LiveReplay(ReplayConfig("loop", settings.replay.speed, settings.replay.ring_mb), clock)

    def note(number: int) -> None:
        camera.over = number >= strokes
        if number % every == 0:
            numbers = (memory_mb(), *of_c_mb(), sys.getallocatedblocks() / 1e3, replay.ring.bytes / 1e6)
            told = " | ".join(f"{each:.1f}" for each in numbers)
            print(f"| {number} | {loop.summary.frames} | {told} | {time.process_time():.0f} |", flush=True)

    pipeline = build.pipeline(settings, observer(wish, sent, seen))
    session = Counted(pipeline, build.targets(settings), capture, note)
    display = open_display(True, WindowConfig(settings.window.width, settings.window.height), print)
    loop = LiveLoop(camera, lambda: session, Devices(display, SilentPlayer(), Quiet()), clock, replay=replay)
    print(HEAD)
    loop.run()
    if camera.dropped:
        print(f"{camera.dropped} pictures lost")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.soak_unpaced", description="A long session's memory.")
    parser.add_argument("clip", type=Path)
    parser.add_argument("--fps", type=float, default=60.0)
    parser.add_argument("--size", default="640x480")
    parser.add_argument("--strokes", type=int, default=120)
    parser.add_argument("--every", type=int, default=20, help="strokes between two lines")
    parser.add_argument("--seen", action="store_true", help="the clip is looked at once only")
    args = parser.parse_args()
    width, height = (int(side) for side in args.size.split("x"))
    soak(Wish(args.clip, args.fps, (width, height), 0.0), args.strokes, args.every, args.seen)


if __name__ == "__main__":
    main()
