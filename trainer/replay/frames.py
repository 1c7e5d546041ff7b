"""Frames that are looked at again: any of them, in any order, each known by its number and its own time."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import Any, Protocol, Sequence

import numpy as np

from trainer.domain.record import Floats
from trainer.errors import ClipError
from trainer.texts import tr


@dataclass(frozen=True, slots=True)
class Still:
    """A picture, and which frame it is. exact: the one that was asked for."""

    image: Any
    index: int
    exact: bool = True


class Frames(Protocol):
    """times_s: (n,) strictly increasing, on the clock of the stroke's record; size: (width, height) px.

    offset_px: what is to be added to a place in the stroke's picture to find it in these frames; (0, 0) for a video.
    drawn: these are figures made from the stored points, no pictures of a camera.
    """

    @property
    def times_s(self) -> Floats: ...
    @property
    def size(self) -> tuple[int, int]: ...
    @property
    def offset_px(self) -> tuple[float, float]: ...
    @property
    def drawn(self) -> bool: ...

    def frame(self, index: int) -> Any:
        """(height, width, 3) uint8 BGR, the caller's to draw on. Raises IndexError, ClipError (a file that is gone)."""

    def soon(self, index: int) -> Still:
        """For a hand that scrubs: that frame, or the nearest that can be had at once while it is on its way. Raises as above."""

    def nearest(self, time_s: float) -> int:
        """The frame nearest to that time, the earlier of two as near; the first or last beyond the ends."""

    def close(self) -> None:
        """May be called twice."""


def exact(frames: Frames, index: int) -> Still:
    """That very frame, waited for. Raises as ``Frames.frame``."""
    return Still(frames.frame(index), index)


def nearest(times_s: Floats, time_s: float) -> int:
    """Index of the nearest of strictly increasing times; of two as near the earlier. Raises ValueError for none."""
    count = len(times_s)
    if not count:
        raise ValueError("there are no frames")
    after = bisect_left(times_s, time_s)
    if after == 0:
        return 0
    if after == count:
        return count - 1
    return after if times_s[after] - time_s < time_s - times_s[after - 1] else after - 1


def checked(index: int, count: int) -> int:
    """A frame's number that is there; numbers from the end are not meant. Raises IndexError."""
    if not 0 <= index < count:
        raise IndexError(f"frame {index} of {count}")
    return index


def decoded(jpeg: bytes) -> Any:
    """The picture of one compressed frame. Raises ClipError when it is damaged."""
    import cv2

    image = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
    if image is None:
        raise ClipError(tr("a kept picture is damaged"), "", tr("show another stroke"))
    return image


class MemoryFrames:
    """Compressed frames in memory. Raises ValueError when there are none, or times do not rise."""

    drawn = False
    offset_px = (0.0, 0.0)

    def __init__(self, jpegs: Sequence[bytes], times_s: Sequence[float] | Floats) -> None:
        self.times_s: Floats = np.asarray(times_s, dtype=np.float64)
        if not len(jpegs) or len(jpegs) != len(self.times_s) or (np.diff(self.times_s) <= 0).any():
            raise ValueError("one time a frame, rising, is needed")
        self._jpegs: tuple[bytes, ...] = tuple(jpegs)
        height, width = decoded(self._jpegs[0]).shape[:2]
        self.size: tuple[int, int] = (width, height)

    @property
    def jpegs(self) -> tuple[bytes, ...]:
        return self._jpegs

    def frame(self, index: int) -> Any:
        return decoded(self._jpegs[checked(index, len(self._jpegs))])

    def soon(self, index: int) -> Still:
        return Still(self.frame(index), index)

    def nearest(self, time_s: float) -> int:
        return nearest(self.times_s, time_s)

    def close(self) -> None:
        return
