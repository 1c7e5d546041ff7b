"""The frames of the last strokes, compressed, in memory only, never more than a set size."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict, deque
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from trainer.domain.observation import Frame
from trainer.replay.frames import MemoryFrames
from trainer.stroke.late_frames import in_time
from trainer.worker import Worker

QUALITY = 85  # JPEG: 25 kB and 0.7 ms a frame at 640x480
LOOSE_S = 20.0  # frames of no stroke yet are kept so long: the longest stroke from lead-in to look
WAITING = 3  # frames not yet compressed; more would mean that the machine is too slow, and then they are left out
JOIN_S = 5.0
IDLE_S = 1.0  # the thread looks at its stop flag at least so often
FILL = 0.94  # of the setting: the rest is for frames not yet compressed and what the allocator loses
ENTRY_BYTES = 120  # what the bookkeeping of one frame takes beside its picture


class Entry(NamedTuple):
    """One compressed frame."""

    time_s: float
    jpeg: bytes
    number: int


@dataclass
class Stretch:
    """The frames of one stroke; those up to end_s may still be coming."""

    start_s: float
    end_s: float
    entries: list[Entry] = field(default_factory=list)


class FrameRing:
    """``start``, then ``add``, which never waits: frames are compressed in a thread of the ring's own. Call ``add`` from
    one thread; the rest from any. ``add``, ``settled`` and ``close`` raise what went wrong in that thread.

    Oldest first goes what belongs to no stroke and is older than LOOSE_S, or more than half of the ring, then the oldest
    stroke, then the oldest frame.
    """

    def __init__(self, limit_mb: float, quality: int = QUALITY, loose_s: float = LOOSE_S) -> None:
        self._limit = FILL * limit_mb * 1e6
        self._quality = quality
        self._loose_s = loose_s
        self._change = threading.Condition()
        self._waiting: deque[Frame] = deque()
        self._loose: deque[Entry] = deque()
        self._strokes: OrderedDict[int, Stretch] = OrderedDict()
        self._bytes = self._loose_bytes = 0
        self._busy = False
        self.left_out = 0  # frames that came faster than they could be compressed
        self.worked_s = 0.0  # processor time of the ring's own thread
        self._worker = Worker("replay frames", self._run, self._wake)

    def start(self) -> None:
        self._worker.start()

    @property
    def bytes(self) -> int:
        """Held now."""
        with self._change:
            return self._bytes

    def add(self, frame: Frame) -> None:
        """Times rise."""
        self._worker.check()
        with self._change:
            if self._worker.stopping or frame.image is None:
                return
            if len(self._waiting) >= WAITING:
                self.left_out += 1
                return
            self._waiting.append(frame)
            self._change.notify_all()

    def hold(self, key: int, start_s: float, end_s: float) -> None:
        """Those frames are a stroke's, also such as come later."""
        with self._change:
            stretch = Stretch(start_s, end_s, [e for e in self._loose if start_s <= e.time_s <= end_s])
            self._loose = deque(e for e in self._loose if not start_s <= e.time_s <= end_s)
            self._loose_bytes = sum(map(_size, self._loose))
            self._strokes[key] = stretch  # a key is used once
            self._trim()

    def frames(self, key: int) -> MemoryFrames | None:
        """A stroke's frames as far as they have come, those that were stamped late in their time, as the stroke's record has
        them; None when they were let go, or there were none.
        """
        with self._change:
            stretch = self._strokes.get(key)
            entries = list(stretch.entries) if stretch is not None else []
        if not entries:
            return None
        stamps, numbers = np.array([e.time_s for e in entries]), np.array([e.number for e in entries])
        return MemoryFrames([e.jpeg for e in entries], in_time(stamps, numbers))

    def settled(self) -> None:
        """Returns once nothing waits to be compressed."""
        with self._change:
            self._change.wait_for(lambda: self._worker.ended or not (self._waiting or self._busy), JOIN_S)
        self._worker.check()

    def close(self) -> None:
        """Lets everything go. May be called twice."""
        self._worker.stop()
        self._wake()
        self._worker.wait(JOIN_S)
        with self._change:
            self._waiting.clear()
            self._loose.clear()
            self._strokes.clear()
            self._bytes = self._loose_bytes = 0
        self._worker.check()

    def _wake(self) -> None:
        with self._change:
            self._change.notify_all()

    # ---- the thread

    def _run(self, stop: threading.Event) -> None:
        import cv2

        options = (cv2.IMWRITE_JPEG_QUALITY, self._quality)
        while True:
            with self._change:
                self._busy = False
                self._change.notify_all()
                while not (self._waiting or stop.is_set()):
                    self._change.wait(IDLE_S)
                if stop.is_set():
                    return
                frame, self._busy = self._waiting.popleft(), True
            done, jpeg = cv2.imencode(".jpg", frame.image, options)
            self.worked_s = time.thread_time()
            if done:
                self._put(Entry(frame.time_s, jpeg.tobytes(), frame.index))

    def _put(self, entry: Entry) -> None:
        with self._change:
            for stretch in reversed(self._strokes.values()):
                if stretch.start_s <= entry.time_s <= stretch.end_s:
                    stretch.entries.append(entry)
                    break
            else:
                self._loose.append(entry)
                self._loose_bytes += _size(entry)
            self._bytes += _size(entry)
            self._trim()

    def _trim(self) -> None:
        while self._loose and self._loose[0].time_s < self._loose[-1].time_s - self._loose_s:
            self._drop_loose()
        while self._bytes > self._limit:
            if self._loose_bytes > self._limit / 2 or (self._loose and len(self._strokes) < 2):
                self._drop_loose()
            elif self._strokes:
                _, oldest = self._strokes.popitem(last=False)
                self._bytes -= sum(map(_size, oldest.entries))
            else:
                return

    def _drop_loose(self) -> None:
        size = _size(self._loose.popleft())
        self._bytes -= size
        self._loose_bytes -= size


def _size(entry: Entry) -> int:
    return len(entry.jpeg) + ENTRY_BYTES
