"""Pictures that a camera gives twice: in the second nothing has moved, though the player has."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.domain.observation import Frame, Observation
from trainer.domain.player_frame import PlayerFrame

WIDTH = 160  # about so many pixels of a row, evenly spread, are compared, and rows likewise
MOTION_GREY = (
    24  # something that moves changes some pixels by this from picture to picture; noise and a player at rest do not
)
LONGEST_S = 0.12  # a picture that stays for longer is a still one


class RepeatedPictures:
    """``see`` every picture in order of time."""

    def __init__(self) -> None:
        self._last: npt.NDArray[np.uint8] | None = None
        self._new_s = 0.0
        self._moving = False

    def see(self, image: Any, time_s: float) -> bool:
        """Whether it is the last one again while something moves. image: (h, w, 3) uint8, of one size."""
        stride = max(1, image.shape[1] // WIDTH)
        now = np.ascontiguousarray(image[::stride, ::stride, 1])  # green says enough
        last = self._last
        if last is not None and np.array_equal(now, last):
            return self._moving and time_s - self._new_s <= LONGEST_S
        self._moving = last is not None and int(np.abs(now.astype(np.int16) - last).max()) >= MOTION_GREY
        self._last, self._new_s = now, time_s
        return False


def repeated(frame: Frame, player: PlayerFrame) -> Observation:
    """Of such a frame: where things are at its time was not seen."""
    reasons = dict.fromkeys(("body", "head", "ball", "putter"), "the camera gave the picture before once more")
    return Observation(frame.index, frame.time_s, frame=player, reasons=reasons)
