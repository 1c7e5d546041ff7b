"""A video of what the window would have shown, drawn by the same code. Needs no display."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from trainer.domain.observation import Frame
from trainer.errors import UsageError
from trainer.live.display_types import Targets
from trainer.live.pipeline import Finished, StepResult
from trainer.live.practice_state import DisplayState, DisplayStateBuilder
from trainer.ui.export.files import pixels
from trainer.ui.practice.practice_view import PracticeView

SIZE = (1280, 720)
CODECS = ("avc1", "mp4v")  # H.264 where OpenCV found an encoder, else MPEG-4 part 2, which it brings
MAX_REPEATS = 60


class AnnotatedClip:
    """``add`` every frame with its step, then ``close``. Constant rate: a frame stays as long as its time stamps say.

    codec: what is really used. Raises UsageError when the file cannot be written.
    """

    def __init__(
        self, path: Path, fps: float, targets: Targets | None = None, theme: str = "dark", size: tuple[int, int] = SIZE
    ) -> None:
        import pygame

        self._path = path
        self._fps = fps
        self._states = DisplayStateBuilder(targets)
        self._view = PracticeView(theme)
        self._surface = pygame.Surface(size)
        self._writer, self.codec = writer_for(path, fps, size)
        self._origin_s: float | None = None
        self._written = 0
        self._picture: Any = None

    def add(self, frame: Frame, step: StepResult) -> None:
        if self._origin_s is None:
            self._origin_s = frame.time_s
        due = round((frame.time_s - self._origin_s) * self._fps)
        self._hold_until(due)
        self._draw(self._states.see(frame, step))
        self._write()

    def finish(self, finished: Finished | None, linger_s: float = 1.0) -> None:
        """After the last frame: the result of the stroke that was still under way, shown for ``linger_s``."""
        if finished is not None:
            self._draw(self._states.close(finished))
        for _ in range(round(linger_s * self._fps)):
            self._write()

    def close(self) -> None:
        """Finishes the file; raises UsageError if it came to nothing."""
        if self._writer is None:
            return
        self._writer.release()
        self._writer = None
        if self._written and (not self._path.is_file() or self._path.stat().st_size == 0):
            raise UsageError("the video could not be written", str(self._path), "is the disk full?")

    def _draw(self, view: DisplayState) -> None:
        self._view.draw(self._surface, replace(view, recorded=True))
        self._picture = pixels(self._surface)

    def _hold_until(self, due: int) -> None:
        if self._picture is not None:
            for _ in range(min(due - self._written, MAX_REPEATS)):
                self._write()

    def _write(self) -> None:
        if self._picture is not None:
            self._writer.write(self._picture)
            self._written += 1


def writer_for(path: Path, fps: float, size: tuple[int, int]) -> tuple[Any, str]:
    """An open OpenCV writer and the codec it really uses. Raises UsageError."""
    import cv2

    where = str(path)
    if path.suffix.lower() not in (".mp4", ".m4v", ".mov"):
        raise UsageError("a clip is written as mp4", where, "give a name that ends in .mp4")
    if not path.parent.is_dir():
        raise UsageError("no such folder", str(path.parent), "make it first")
    for codec in CODECS:
        writer = cv2.VideoWriter(where, cv2.CAP_FFMPEG, cv2.VideoWriter.fourcc(*codec), fps, size)
        if writer.isOpened():
            return writer, codec
        writer.release()
    raise UsageError("cannot be written", where, "choose another folder, or free some space")
