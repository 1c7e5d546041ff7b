"""Listens beside the camera: blocks of sound come in, onsets stay for a while, the sound itself is dropped at once."""

from __future__ import annotations

import threading
from collections import deque
from typing import Any, Callable, Protocol

from trainer.domain.sound import Onset
from trainer.hearing.onset import OnsetFinder
from trainer.worker import Worker

OnBlock = Callable[[Any, float], None]  # (n,) samples of -1 to 1, and when the first was heard (s of the frames' clock)
WAITING_BLOCKS = 200  # dropped beyond: a computer that is seconds behind with sound hears nothing in time
KEPT_ONSETS = 400
WAIT_S = 0.25
JOIN_S = 2.0


class SoundStream(Protocol):
    """A microphone. name, rate_hz: what it really is."""

    name: str
    rate_hz: float

    def start(self, on_block: OnBlock) -> None:
        """``on_block`` is called from a thread of its own from now on. Raises SoundError where it cannot."""

    def close(self) -> None:
        """No more blocks; gives the device back; may be called twice."""


class Ears:
    """``start``; ``onsets`` from any thread; ``close``. A failure ends the hearing, never the practice: see ``failure``."""

    def __init__(self, stream: SoundStream) -> None:
        self._stream = stream
        self._finder = OnsetFinder(stream.rate_hz)
        self._blocks: deque[tuple[Any, float]] = deque(maxlen=WAITING_BLOCKS)
        self._came = threading.Event()
        self._kept: deque[Onset] = deque(maxlen=KEPT_ONSETS)
        self._lock = threading.Lock()
        self._worker = Worker("hearing", self._run)

    @property
    def name(self) -> str:
        return self._stream.name

    @property
    def failure(self) -> BaseException | None:
        """What ended the hearing early."""
        return self._worker.failure

    def start(self) -> Ears:
        """Returns itself."""
        self._worker.start()
        self._stream.start(self._take)
        return self

    def onsets(self, first_s: float, last_s: float) -> tuple[Onset, ...]:
        """Those heard in between, in order, as far as they are still kept."""
        with self._lock:
            return tuple(onset for onset in self._kept if first_s <= onset.time_s <= last_s)

    def close(self) -> None:
        self._stream.close()
        self._worker.stop()
        self._came.set()
        self._worker.wait(JOIN_S)

    def _take(self, block: Any, begins_s: float) -> None:
        """In the device's own thread: nothing slow here."""
        self._blocks.append((block, begins_s))
        self._came.set()

    def _run(self, stop: threading.Event) -> None:
        while not stop.is_set():
            self._came.wait(WAIT_S)
            self._came.clear()
            while self._blocks and not stop.is_set():
                found = self._finder.feed(*self._blocks.popleft())
                with self._lock:
                    self._kept.extend(found)
