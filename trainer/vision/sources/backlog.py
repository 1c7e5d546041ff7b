"""Frames between a camera and its reader: a short while is waited for, a machine that is too slow sees the newest."""

from __future__ import annotations

import math
from collections import deque

from trainer.domain.observation import Frame

LONGEST_S = 0.15  # a frame waits at most so long: what takes a moment longer than usual then loses nothing
BEHIND_S = 1.0  # frames lost again and again for so long: only the newest waits, every one would else be judged late


class Backlog:
    """``put`` from the camera, ``take`` by the reader. Not for two threads at once. wanted: somebody takes: frames may wait."""

    def __init__(self) -> None:
        self._frames: deque[Frame] = deque()
        self._lost_s, self._losing_s = -math.inf, math.inf  # the last loss; the first of those without BEHIND_S between
        self.wanted = False

    def __len__(self) -> int:
        return len(self._frames)

    def put(self, frame: Frame) -> int:
        """How many older ones are lost by it."""
        now_s, waiting, lost = frame.time_s, self._frames, 0
        if now_s - self._lost_s > BEHIND_S:
            self._losing_s = math.inf
        longest_s = LONGEST_S if self.wanted and now_s - self._losing_s <= BEHIND_S else 0.0
        while waiting and now_s - waiting[0].time_s > longest_s:
            waiting.popleft()
            lost += 1
        waiting.append(frame)
        if not (lost and self.wanted):
            return 0
        self._lost_s, self._losing_s = now_s, min(self._losing_s, now_s)
        return lost

    def take(self) -> Frame | None:
        """The one that has waited longest; None: none waits. From now on frames wait."""
        self.wanted = True
        return self._frames.popleft() if self._frames else None

    def clear(self) -> None:
        self._frames.clear()
