"""A clip file frame by frame: decoded in order, jumped in, each frame known by its own time stamp."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from trainer.domain.record import Floats
from trainer.errors import ClipError
from trainer.replay.frames import nearest
from trainer.vision.sources.clip import FPS_RANGE, USUAL_FPS, Stamper, opened

SEEK_FROM = 120  # frames; nearer ones are reached sooner by decoding on
SEEK_BEFORE = 15  # frames: aim before the wanted one, for a seek may land after its aim
TIME_MATCH = 0.25  # share of the gap between frames


class Reader:
    """Decodes a file forward. position: number of the frame that comes next."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._capture: Any = None
        self.position = 0

    def open(self) -> None:
        self.close()
        self._capture = opened(self._path)
        self.position = 0

    def close(self) -> None:
        if self._capture is not None:
            self._capture.release()
            self._capture = None

    def grab(self) -> bool:
        if self._capture is None:
            self.open()
        if not self._capture.grab():
            return False
        self.position += 1
        return True

    def picture(self) -> Any:
        """Of the frame last grabbed; None when it cannot be had."""
        ok, image = self._capture.retrieve()
        return image if ok else None

    def raw_s(self) -> float:
        """The file's own time stamp of the frame last grabbed."""
        import cv2

        return float(self._capture.get(cv2.CAP_PROP_POS_MSEC)) / 1000.0

    def step_s(self) -> float:
        import cv2

        fps = float(self._capture.get(cv2.CAP_PROP_FPS))
        return 1.0 / (fps if FPS_RANGE[0] <= fps <= FPS_RANGE[1] else USUAL_FPS)

    def grab_at(self, index: int, times_s: Floats) -> bool:
        """Grabs that very frame. False: the file does not hold it."""
        if self._capture is None or index < self.position or index - self.position > SEEK_FROM:
            if self._capture is None or index > SEEK_FROM or index < self.position:
                self.open()
            if index > SEEK_FROM and self._sought(index, times_s) and self.position - 1 == index:
                return True
        while self.position <= index:
            if not self.grab():
                return False
        return True

    def _sought(self, index: int, times_s: Floats) -> bool:
        """Jumps to a frame not after ``index``; position is right whether or not that could be done."""
        import cv2

        aim = float(times_s[index - SEEK_BEFORE])
        if self._capture.set(cv2.CAP_PROP_POS_MSEC, aim * 1000.0) and self._capture.grab():
            found_s = self.raw_s()
            at = nearest(times_s, found_s)
            gap = float(times_s[min(at + 1, len(times_s) - 1)] - times_s[max(at - 1, 0)]) / 2.0
            if at <= index and abs(float(times_s[at]) - found_s) < TIME_MATCH * gap:
                self.position = at + 1
                return True
        self.open()
        return False


def times_of(path: Path) -> Floats:
    """The time of every frame of a clip, as ``vision.clip`` stamps them. Decodes it once. Raises ClipError."""
    reader = Reader(path)
    reader.open()
    try:
        stamper = Stamper(reader.step_s())
        times = []
        while reader.grab():
            times.append(stamper.stamp(reader.raw_s()))
    finally:
        reader.close()
    if not times:
        raise ClipError("there is no picture in it", str(path), "record it again, or give another clip")
    return np.array(times, dtype=np.float64)
