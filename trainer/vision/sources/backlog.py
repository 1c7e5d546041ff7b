"""Frames between a camera and its reader: a short while is waited for, a machine that is too slow sees the newest."""

from __future__ import annotations

import math
from collections import deque

from trainer.domain.observation import Frame

LONGEST_S = 0.1  # a frame waits at most so long: what takes a moment longer than usual then loses nothing
BEHIND_S = 1.0  # after a loss only the newest waits: a machine that is too slow would else judge every frame late


class Backlog:
    """``put`` from the camera, ``take`` by the reader. Not for two threads at once. wanted: somebody takes: frames may wait."""

    def __init__(self) -> None:
        self._frames: deque[Frame] = deque()
        self._lost_s = -math.inf
        self.wanted = False

    def __len__(self) -> int:
        return len(self._frames)

    def put(self, frame: Frame) -> int:
        """How many older ones are lost by it."""
        waiting = self._frames
        waits_s = frame.time_s - waiting[0].time_s if waiting else 0.0
        longest_s = LONGEST_S if self.wanted and frame.time_s - self._lost_s > BEHIND_S else 0.0
        lost = len(waiting) if waits_s > longest_s else 0
        if lost:
            waiting.clear()
        if lost and self.wanted:
            self._lost_s = frame.time_s
        waiting.append(frame)
        return lost if self.wanted else 0

    def take(self) -> Frame | None:
        """The one that has waited longest; None: none waits. From now on frames wait."""
        self.wanted = True
        return self._frames.popleft() if self._frames else None

    def clear(self) -> None:
        self._frames.clear()
