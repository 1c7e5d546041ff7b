"""Whether frames of a camera are being lost, as their numbers say: more come than the machine keeps up with."""

from __future__ import annotations

import math

from trainer.domain.observation import Frame

FOR_S = 1.0  # after the last one that was missing


class LostFrames:
    """``see`` every frame that comes, in order."""

    def __init__(self) -> None:
        self._last_index: int | None = None
        self._lost_s = -math.inf

    def see(self, frame: Frame) -> bool:
        """Whether one was lost just now."""
        if self._last_index is not None and frame.index > self._last_index + 1:
            self._lost_s = frame.time_s
        self._last_index = frame.index
        return frame.time_s - self._lost_s < FOR_S
