"""Saved from a review: a picture, and a clip with the lines, from the same drawing as the window's. Needs no display."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from trainer.errors import TrainerError, UsageError
from trainer.files import replacing
from trainer.ui.export.annotated_clip import writer_for
from trainer.ui.export.files import check_name, pixels, png, write_atomically
from trainer.ui.review.reviewer import Reviewer
from trainer.worker import Progress

SIZE = (1280, 720)
FPS_RANGE = (10.0, 60.0)
# What the code a clip is in means for who wants to see it.
CODEC_WORDS = {"avc1": "", "mp4v": ", in an older format: a computer plays it, some phones and browsers do not"}


def save_picture(reviewer: Reviewer, path: Path, size: tuple[int, int] = SIZE) -> str:
    """The window as it is, without keys, as a PNG; returns the line that says so. Raises UsageError."""
    check_name(path, (".png",), "a still")
    write_atomically(path, png(_drawn(reviewer, size), path))
    return f"kept {path}"


def save_clip(
    reviewer: Reviewer,
    path: Path,
    span_s: tuple[float, float] | None = None,
    speed: float = 1.0,
    size: tuple[int, int] = SIZE,
    progress: Progress | None = None,
) -> str:
    """From one time of the main stroke to another (None: all of it) as a video. speed: 0.25 is a quarter of the real one.

    The review stays where it was. Returns the line that says where it is and in which code. Raises UsageError, and Stopped
    when ``progress`` says so: then there is no file.
    """
    playback = reviewer.session.playback
    times = playback.main.stroke_clip.frames.times_s
    first, last = span_s or (float(times[playback.first]), float(times[playback.last]))
    if last <= first:
        raise UsageError("the clip would end before it begins", str(path), "give --from and --to in order")
    step = float(np.median(np.diff(times))) if len(times) > 1 else 1 / 30
    fps = min(max(1.0 / step, FPS_RANGE[0]), FPS_RANGE[1])
    before = playback.time_s, playback.playing
    try:
        with replacing(path) as part:
            codec = _write_frames(reviewer, part, (first, last, speed), fps, size, progress or Progress())
            if not part.is_file() or part.stat().st_size == 0:
                raise UsageError("the video could not be written", str(path), "is the disk full?")
    except OSError as error:
        if isinstance(error, TrainerError):
            raise
        raise UsageError(f"cannot be written ({error.strerror})", str(path), "choose another folder") from None
    finally:
        playback.time_s, playback.playing = before
    return f"kept {path}{CODEC_WORDS.get(codec, codec)}"


def _write_frames(
    reviewer: Reviewer,
    path: Path,
    span: tuple[float, float, float],
    fps: float,
    size: tuple[int, int],
    progress: Progress,
) -> str:
    """The frames of (first s, last s, speed); returns the code they are in."""
    first, last, speed = span
    playback = reviewer.session.playback
    writer, codec = writer_for(path, fps, size)
    try:
        image, shown = None, -1
        count = int((last - first) / speed * fps + 1e-6) + 1
        for k in range(count):
            progress.tell(k / count)
            playback.scrub(first + k * speed / fps)
            if playback.index != shown or image is None:
                image, shown = pixels(_drawn(reviewer, size)), playback.index
            writer.write(image)
    finally:
        writer.release()
    return codec


def _drawn(reviewer: Reviewer, size: tuple[int, int]) -> Any:
    import pygame

    surface = pygame.Surface(size)
    reviewer.draw(surface, bare=True)
    return surface
