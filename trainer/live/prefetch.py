"""Finding the body ahead of the rest, in a thread of its own, for the pose model takes most of a frame's time.

The frames and what is found in them stay in order, so the outcome is the same as one after the other. Where a camera's frames are
being lost, by one frame only: each is then the newest when it is read.
"""

from __future__ import annotations

import sys
import threading
from contextlib import contextmanager
from types import TracebackType
from typing import Any, Callable, Iterator, NamedTuple, Protocol, TypeVar

from trainer.domain.observation import Frame
from trainer.live.pipeline import Failed
from trainer.live.queues import BoundedQueue
from trainer.vision.lost_frames import LostFrames
from trainer.vision.sources.base import Clock, Source
from trainer.vision.steady_camera import SteadyCamera
from trainer.worker import Worker

AHEAD = 3  # frames found and waiting, so that a frame that takes long holds nothing up
JOIN_S = 5.0
PAUSED_S = 0.02
WAKE_S = 0.25  # whoever waits looks at its stop flag at least so often
# Python's threads take turns so often. Camera and sound wait through a turn of each of the others: with Python's own 5 ms a cue
# came up to 44 ms after its frame at 640x480, so up to 19; at 1280x720 35 frames were lost for 59 (a minute each, idle cores).
TURNS_S = 0.001


Result = TypeVar("Result")
ResultOut = TypeVar("ResultOut", covariant=True)


class Steps(Protocol[ResultOut]):
    """What frames go through: a ``Pipeline``, or a session of practice."""

    def find_body(self, frame: Frame) -> Any: ...
    def step(self, frame: Frame, body: Any) -> ResultOut: ...


class Steadies(Protocol):
    """A ``SteadyCamera``."""

    def steadied(self, frame: Frame) -> Frame: ...


@contextmanager
def short_turns() -> Iterator[None]:
    """Who needs the interpreter for a moment, to hand on what was found outside of it, waits a moment."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(TURNS_S)
    try:
        yield
    finally:
        sys.setswitchinterval(before)


def run_pipeline(
    source: Source,
    pipeline: Steps[Result],
    clock: Clock,
    stop: threading.Event | None = None,
    paused: threading.Event | None = None,
    idle: Callable[[], None] = lambda: None,
) -> Iterator[tuple[Frame, Result, float]]:
    """(frame, what it gave, when it was read in s of the clock) of every frame, until the source ends or ``stop`` is set.

    Bodies are found ahead in a thread of their own. paused, idle: see ``Prefetch``. Raises what the source, the model or a step
    raises; what was given before stays good, and ``pipeline.finish`` is the caller's.
    """
    with Prefetch(source, pipeline.find_body, clock, paused, stop, idle) as ahead:
        for frame, body, read_s in ahead:
            yield frame, pipeline.step(frame, body), read_s


def run_in_turn(source: Source, pipeline: Steps[Result], clock: Clock) -> Iterator[tuple[Frame, Result, float]]:
    """The same in one thread, for a source that waits for its reader."""
    for frame, body, read_s in found_in_turn(source, pipeline.find_body, clock):
        yield frame, pipeline.step(frame, body), read_s


def found_in_turn(source: Source, find_body: Callable[[Frame], Any], clock: Clock) -> Iterator[Found]:
    """What ``Prefetch`` gives, in one thread."""
    unstarted = Prefetch(source, find_body, clock)
    while (frame := source.read()) is not None:
        yield unstarted.found(frame, clock.now())


class Found(NamedTuple):
    """A frame, what was found in it, and when it was read (s of the loop's clock)."""

    frame: Frame
    body: Any
    read_s: float


class Prefetch:
    """``start`` (or ``with``), then iterate: every frame of ``source`` with its body. What fails in the thread, the source
    or the model, is raised after the last good frame.

    stop: ends the iteration; paused: while set, frames of a live source are thrown away, those of others wait; idle: called by
    the iteration now and again while no frame comes; steady: makes what holds pictures still, anew after it failed.
    """

    def __init__(
        self,
        source: Source,
        find_body: Callable[[Frame], Any],
        clock: Clock,
        paused: threading.Event | None = None,
        stop: threading.Event | None = None,
        idle: Callable[[], None] = lambda: None,
        steady: Callable[[], Steadies] = SteadyCamera,
    ) -> None:
        self._source, self._idle = source, idle
        self._find_body = find_body
        self._new_steady, self._steady = steady, steady()
        self._clock = clock
        self._paused = paused or threading.Event()
        self._stop = stop or threading.Event()
        self._queue: BoundedQueue[Found] = BoundedQueue(AHEAD)
        self._worker = Worker("body", self._run, self._queue.end)

    def start(self) -> None:
        self._worker.start()

    def __enter__(self) -> Prefetch:
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def __iter__(self) -> Iterator[Found]:
        while not (self._queue.drained or self._stop.is_set()):
            found = self._queue.take(WAKE_S)
            if found is not None:
                yield found
            else:
                self._idle()
        if not self._stop.is_set():
            self._worker.check()

    def close(self) -> bool:
        """Ends it; frames not yet taken are dropped. False: the thread did not end in time."""
        self._worker.stop()
        self._queue.end(drop=True)
        return self._worker.wait(JOIN_S)

    def _run(self, stop: threading.Event) -> None:
        lost = LostFrames()
        while not stop.is_set():
            if self._paused.is_set() and not self._source.live:
                stop.wait(PAUSED_S)
                continue
            frame = self._source.read()
            if frame is None:
                return
            read_s = self._clock.now()
            if self._paused.is_set() and self._source.live:
                continue
            found = self.found(frame, read_s)
            while not self._queue.put(found, WAKE_S):
                if self._queue.ended:
                    return
            if self._source.live and lost.see(
                found.frame
            ):  # read sooner than it is needed it would be an old one by then
                while not self._queue.emptied(WAKE_S) and not stop.is_set():
                    continue

    def found(self, frame: Frame, read_s: float) -> Found:
        """A fault of ours in holding the picture still is told of with its frame, as one in finding the body is."""
        try:
            frame = self._steady.steadied(frame)
        except Exception as error:
            self._steady = self._new_steady()
            return Found(frame, Failed(error), read_s)
        return Found(frame, self._find_body(frame), read_s)
