"""Take away: a still, and a clip with the lines, from the same drawing as the window's. Needs no display."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from trainer.errors import TrainerError, UsageError
from trainer.files import replacing
from trainer.ui.export.annotated_clip import writer_for
from trainer.ui.review.reviewer import Reviewer

SIZE = (1280, 720)
FPS_RANGE = (10.0, 60.0)
CODEC_WORDS = {"avc1": "H.264", "mp4v": "MPEG-4 part 2, for this OpenCV has no encoder for H.264"}


def still(reviewer: Reviewer, path: Path, size: tuple[int, int] = SIZE) -> str:
    """The window as it is, without keys, as a PNG; returns the line that says so. Raises UsageError."""
    import cv2

    checked(path, (".png",), "a still")
    done, data = cv2.imencode(".png", _pixels(reviewer, size))
    if not done:
        raise UsageError("the picture could not be made", str(path), "try again")
    written(path, data.tobytes())
    return f"kept {path}"


def clip(
    reviewer: Reviewer,
    path: Path,
    span_s: tuple[float, float] | None = None,
    speed: float = 1.0,
    size: tuple[int, int] = SIZE,
) -> str:
    """From one time of the main stroke to another (None: all of it) as a video. speed: 0.25 is a quarter of the real one.

    The review stays where it was. Returns the line that says where it is and in which code. Raises UsageError.
    """
    playback = reviewer.playback
    times = playback.main.stroke_clip.frames.times_s
    first, last = span_s or (float(times[playback.first]), float(times[playback.last]))
    if last <= first:
        raise UsageError("the clip would end before it begins", str(path), "give --from and --to in order")
    step = float(np.median(np.diff(times))) if len(times) > 1 else 1 / 30
    fps = min(max(1.0 / step, FPS_RANGE[0]), FPS_RANGE[1])
    before = playback.time_s, playback.playing
    try:
        with replacing(path) as part:
            codec = _write_frames(reviewer, part, (first, last, speed), fps, size)
            if not part.is_file() or part.stat().st_size == 0:
                raise UsageError("the video could not be written", str(path), "is the disk full?")
    except OSError as error:
        if isinstance(error, TrainerError):
            raise
        raise UsageError(f"cannot be written ({error.strerror})", str(path), "choose another folder") from None
    finally:
        playback.time_s, playback.playing = before
    return f"kept {path} ({CODEC_WORDS.get(codec, codec)})"


def _write_frames(
    reviewer: Reviewer, path: Path, span: tuple[float, float, float], fps: float, size: tuple[int, int]
) -> str:
    """The frames of (first s, last s, speed); returns the code they are in."""
    first, last, speed = span
    writer, codec = writer_for(path, fps, size)
    try:
        image, shown = None, -1
        for k in range(int((last - first) / speed * fps + 1e-6) + 1):
            reviewer.playback.scrub(first + k * speed / fps)
            if reviewer.playback.index != shown or image is None:
                image, shown = _pixels(reviewer, size), reviewer.playback.index
            writer.write(image)
    finally:
        writer.release()
    return codec


def _pixels(reviewer: Reviewer, size: tuple[int, int]) -> Any:
    """(height, width, 3) BGR of the scene without keys."""
    import pygame

    surface = pygame.Surface(size)
    reviewer.draw(surface, bare=True)
    rgb = np.frombuffer(pygame.image.tobytes(surface, "RGB"), np.uint8).reshape(size[1], size[0], 3)
    return np.ascontiguousarray(rgb[:, :, ::-1])


# ---- files


def checked(path: Path, endings: tuple[str, ...], what: str) -> None:
    """Raises UsageError when the name or its folder will not do."""
    if path.suffix.lower() not in endings:
        raise UsageError(
            f"{what} is a {' or '.join(e[1:].upper() for e in endings)} file", str(path), f"end it in {endings[0]}"
        )
    if not path.parent.is_dir():
        raise UsageError("no such folder", str(path.parent), "make it first")


def written(path: Path, data: bytes) -> None:
    """The file whole or not at all. Raises UsageError."""
    try:
        with replacing(path) as part:
            part.write_bytes(data)
    except OSError as error:
        raise UsageError(f"cannot be written ({error.strerror})", str(path), "choose another folder") from None


def path_beside(folder: Path, stem: str, ending: str) -> Path:
    """A name in that folder that is not taken."""
    n = 1
    while (path := folder / f"{stem}{'' if n == 1 else f'-{n}'}{ending}").exists():
        n += 1
    return path
