"""Finding the body ahead of the rest, in a thread of its own, for the pose model takes most of a frame's time.

The frames and what is found in them stay in order, so the outcome is the same as one after the other.
"""

from __future__ import annotations

import threading
from typing import Any, Callable, Iterator, NamedTuple

from trainer.domain.observation import Frame
from trainer.live.queues import BoundedQueue
from trainer.vision.sources.base import Clock, Source

AHEAD = 3  # frames found and waiting, so that a frame that takes long holds nothing up
JOIN_S = 5.0


class Found(NamedTuple):
    """A frame, what was found in it, and when it was read (s of the loop's clock)."""

    frame: Frame
    body: Any
    read_s: float


class Prefetch:
    """Iterate to get every frame of ``source`` with its body. The source's errors are raised after its last good frame.

    stop: ends it, from any thread; paused: while set, frames of a live source are thrown away, those of others wait.
    """

    def __init__(
        self,
        source: Source,
        find_body: Callable[[Frame], Any],
        clock: Clock,
        paused: threading.Event | None = None,
        stop: threading.Event | None = None,
    ) -> None:
        self._source = source
        self._find_body = find_body
        self._clock = clock
        self._paused = paused or threading.Event()
        self._belt: BoundedQueue[Found] = BoundedQueue(AHEAD)
        self._stop = stop or threading.Event()
        self._failure: BaseException | None = None
        self._thread = threading.Thread(target=self._run, name="body", daemon=True)
        self._thread.start()

    def __iter__(self) -> Iterator[Found]:
        while (found := self._belt.take()) is not None:
            yield found
        if self._failure is not None:
            raise self._failure

    def close(self) -> bool:
        """Ends it; frames not yet taken are dropped. False: the thread did not end in time."""
        self._stop.set()
        self._belt.end(drop=True)
        self._thread.join(JOIN_S)
        return not self._thread.is_alive()

    def _run(self) -> None:
        try:
            while not self._stop.is_set():
                if self._paused.is_set() and not self._source.live:
                    self._stop.wait(0.02)
                    continue
                frame = self._source.read()
                if frame is None:
                    break
                read_s = self._clock.now()
                if self._paused.is_set() and self._source.live:
                    continue
                if not self._belt.put(Found(frame, self._find_body(frame), read_s)):
                    break
                if self._source.live:  # a frame read sooner than it is needed is an old one by then
                    self._belt.emptied()
        except BaseException as error:  # handed to whoever iterates
            self._failure = error
        finally:
            self._belt.end()
