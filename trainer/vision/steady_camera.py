"""A camera that trembles, in a hand or in the wind: its motion is taken out of the pictures before anything is looked for.

Only from when it is found to tremble: on a camera that stands firm nothing is done, and next to nothing is paid.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from statistics import median
from typing import Any

import numpy as np

from trainer.domain.observation import Frame, Shake
from trainer.vision.camera_motion import CameraMotion, Moved, steadied
from trainer.vision.camera_shake import KNOCK_LINE, SHAKES_LINE, ShakeWatch
from trainer.vision.same_size import SIZE_LINE, SameSize

TRIED = 8  # pictures whose motion is looked at before any is held still: a player who moves is no camera that does
FIRM_SHARE = 0.00025  # of the picture's width, from picture to picture: less, and it was the player
FIRM_S = 1.0  # then for so long it is not tried again
KEPT_S = 3.0  # pictures are held still so long after the camera last trembled
BACK_PX = 0.5  # and on, until where it stands is no more than this from where it stood: no jump
FAR_SHARE = (
    0.12  # of the picture's width: further, and the player goes out of the picture; the camera points elsewhere now
)
STRIDE = 16  # px, of the grid by which a picture that comes twice is known


class SteadyCamera:
    """``steadied`` every frame in order of time. Not for two threads at once."""

    def __init__(self) -> None:
        self._same_size = SameSize()
        self._size: tuple[int, ...] = ()
        self._trembled_s = self._firm_s = -math.inf
        self._firm = False  # it stood still when last tried, though the picture as a whole moved: a player who sways

    def steadied(self, frame: Frame) -> Frame:
        """The frame with its picture held still, if need be, and with what the camera does. No colour picture: as it is."""
        if frame.image.shape[2:] != (3,):
            return frame
        frame = self._same_size.sized(frame)
        held = self._steadied(frame)
        if self._same_size.changed and held.shake is not None and not held.shake.line:
            held = replace(held, shake=replace(held.shake, line=SIZE_LINE))
        return held

    def _steadied(self, frame: Frame) -> Frame:
        if frame.image.shape != self._size:
            self._size, self._watch = frame.image.shape, ShakeWatch()
            self._begin()
        shake = self._watch.see(frame.image, frame.time_s)
        if shake.trembles:
            self._trembled_s = frame.time_s
        if self._tried is not None:
            self._try(frame, shake.trembles)
            line = "" if self._not_known_to_move and shake.line == SHAKES_LINE else shake.line
            return replace(frame, shake=replace(shake, line=line, anew=shake.knocked or self._tried is None))
        image, moved = self._held(frame.image)
        if moved is None or _apart(moved) > FAR_SHARE * frame.image.shape[1]:
            self._begin()
            return replace(frame, shake=Shake(KNOCK_LINE, knocked=True, trembles=shake.trembles, anew=True))
        if frame.time_s - self._trembled_s > KEPT_S and _apart(moved) < BACK_PX:
            self._begin()
        return replace(frame, image=image, shake=replace(shake, knocked=False))

    @property
    def _not_known_to_move(self) -> bool:
        """It stood still when last tried, or is being tried: until then it may be the player alone who moves."""
        return self._firm or (self._motion is not None and self._tried is not None)

    def _begin(self) -> None:
        """Nothing is held; whether anything is to be is tried anew."""
        self._motion: CameraMotion | None = None
        self._tried: list[Moved] | None = []  # None: it is no longer tried whether the camera moves, it does
        self._grid: Any = None
        self._last: tuple[Any, Moved | None] = (None, None)

    def _try(self, frame: Frame, trembles: bool) -> None:
        """From when it seems to tremble: whether what stands still moves in the picture, or the player alone."""
        if self._motion is None:
            if not trembles or frame.time_s - self._firm_s < FIRM_S:
                return
            self._motion = CameraMotion()
        if self._comes_again(frame.image):
            return
        moved, tried = self._motion.see(frame.image), self._tried
        if moved is None or tried is None:
            self._begin()
            self._firm = False
            return
        tried.append(moved)
        if len(tried) < TRIED:
            return
        steps = [math.hypot(b.x_px - a.x_px, b.y_px - a.y_px) for a, b in pairwise(tried)]
        if median(steps) < FIRM_SHARE * frame.image.shape[1]:
            self._begin()
            self._firm_s, self._firm = frame.time_s, True
        else:  # from this very picture on, so that none jumps
            self._motion, self._tried, self._firm = CameraMotion(), None, False
            self._last = frame.image, self._motion.see(frame.image)

    def _held(self, image: Any) -> tuple[Any, Moved | None]:
        """The same picture once more is held in the same way: it is known as such further on."""
        if self._motion is not None and not self._comes_again(image):
            moved = self._motion.see(image)
            self._last = image if moved is None else steadied(image, moved), moved
        return self._last

    def _comes_again(self, image: Any) -> bool:
        """Whether it is the picture of last time."""
        before, self._grid = self._grid, image[::STRIDE, ::STRIDE].copy()
        return np.array_equal(before, self._grid)


def _apart(moved: Moved) -> float:
    return max(abs(moved.x_px), abs(moved.y_px))
