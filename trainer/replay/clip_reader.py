"""A clip file frame by frame: decoded in order, jumped in, each frame known by its own time stamp."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np

from trainer.domain.record import Floats
from trainer.replay.frames import nearest
from trainer.vision.sources.clip import Stamper
from trainer.vision.sources.video_file import LONGEST_PX, USUAL_FPS, VideoFile

SEEK_FROM = 15  # frames; nearer ones are mostly reached sooner by decoding on
TIME_MATCH = 0.25  # share of the gap between frames


class Reader:
    """Decodes a file forward. position: number of the frame that comes next.

    jumps: the file's own times are those that are known of it; longest_px, recorded_fps: see ``VideoFile``.
    """

    def __init__(
        self, path: Path, jumps: bool = True, longest_px: int = LONGEST_PX, recorded_fps: float | None = None
    ) -> None:
        self.path, self._jumps, self._longest_px, self._recorded_fps = path, jumps, longest_px, recorded_fps
        self._file: VideoFile | None = None
        self._decode_on = SEEK_FROM  # of a file that does not tell where its key frames are: so far apart they were
        self._on_to: int | None = None  # the frame that is reached by decoding on from here, whatever lies between
        self.position = 0

    def open(self) -> None:
        self.close()
        self._file = VideoFile(self.path, self._longest_px, self._recorded_fps)
        self.position = 0

    def close(self) -> None:
        if self._file is not None:
            self._file.close()
            self._file = None

    def picture(self) -> Any:
        """Of the frame last grabbed."""
        return None if self._file is None else self._file.picture()

    def step_toward(self, index: int, times_s: Floats) -> int | None:
        """Grabs the next frame on the way to that one, or a key frame before it that is jumped to; its number. None: the file
        does not hold the one that is wanted."""
        file = self._file
        if file is None or self._is_a_jump(file, index, times_s):
            jumped = file is not None and self._sought(file, index, times_s)
            if not jumped:
                self.open()
            self._on_to = index
            if jumped:
                return self.position - 1
        if self._file is None or self._file.grab() is None:
            return None
        self.position += 1
        return self.position - 1

    def _is_a_jump(self, file: VideoFile, index: int, times_s: Floats) -> bool:
        """Whether it is reached sooner from a key frame than from here."""
        if index < self.position:
            return True
        if not self._jumps or index <= self.position + SEEK_FROM or index == self._on_to:
            return False
        key_s = file.key_before(float(times_s[index] - times_s[0]))
        if math.isnan(key_s):
            return index > self.position + self._decode_on
        return key_s > float(times_s[self.position] - times_s[0])

    def _sought(self, file: VideoFile, index: int, times_s: Floats) -> bool:
        """Jumps to a frame not after ``index`` whose time is one of those known, and grabs it."""
        found_s = file.grab() if self._jumps and file.seek(float(times_s[index] - times_s[0])) else None
        if found_s is None:
            return False
        found_s += float(times_s[0])
        at = nearest(times_s, found_s)
        gap = float(times_s[min(at + 1, len(times_s) - 1)] - times_s[max(at - 1, 0)]) / 2.0
        self.position = at + 1
        self._decode_on = max(self._decode_on, index - at)  # so far apart are key frames
        return at <= index and abs(float(times_s[at]) - found_s) < TIME_MATCH * gap


def times_of(path: Path) -> Floats:
    """The time of every frame of a clip, as ``vision.clip`` stamps them. Decodes it once. Raises ClipError."""
    file = VideoFile(path)
    try:
        stamper = Stamper(1.0 / (file.nominal_fps or USUAL_FPS))
        times = []
        while (raw_s := file.grab()) is not None:
            times.append(stamper.stamp(raw_s))
    finally:
        file.close()
    return np.array(times, dtype=np.float64)
