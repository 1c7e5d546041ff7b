"""Saved from a review: a picture, and a clip with the lines, from the same drawing as the window's. Needs no display."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.errors import UsageError
from trainer.output import PICTURE, write_output
from trainer.texts import tr
from trainer.ui.export.cue_track import cue_track
from trainer.ui.export.encoder import Encoder
from trainer.ui.export.files import SIZE, check_name, pixels, png
from trainer.ui.review.reviewer import Reviewer
from trainer.worker import Progress

MOST_FPS = 60.0  # a faster clip is drawn less often


def save_picture(reviewer: Reviewer, path: Path, size: tuple[int, int] = SIZE) -> str:
    """The window as it is, without keys, as a PNG; returns the line that says so. Raises UsageError."""
    check_name(path, PICTURE, tr("a still"))
    write_output(path, png(_drawn(reviewer, size), path), PICTURE)
    return tr("kept {path}", path=path)


def save_clip(
    reviewer: Reviewer,
    path: Path,
    span_s: tuple[float, float] | None = None,
    speed: float = 1.0,
    with_sound: bool = False,
    progress: Progress | None = None,
) -> str:
    """From one time of the main stroke to another (None: all of it) as a video. speed: 0.25 is a quarter of the real one.

    The review stays where it was. Returns the line that says where it is. Raises UsageError, and Stopped when ``progress``
    says so: then there is no file. with_sound: its cues are heard at the moments they were given.
    """
    playback = reviewer.session.playback
    times = playback.main.stroke_clip.frames.times_s
    first, last = span_s or (float(times[playback.first]), float(times[playback.last]))
    if last <= first:
        raise UsageError(tr("the clip would end before it begins"), str(path), tr("give --from and --to in order"))
    shown = _thinned([float(t) for t in times if first <= t <= last] or [first], speed)
    step_s = (last - first) / speed / len(shown)
    sound = cue_track(playback.main.stroke_clip.cues, (first, last), speed) if with_sound else None
    encoder = Encoder(path, SIZE, 1.0 / step_s, sound)
    before, progress = (playback.time_s, playback.playing), progress or Progress()
    try:
        for k, time_s in enumerate(shown):
            progress.tell(k / len(shown))
            playback.scrub(time_s)
            encoder.add(pixels(_drawn(reviewer, SIZE)), (time_s - first) / speed)
        encoder.close()
    finally:
        encoder.abandon()
        playback.time_s, playback.playing = before
    return tr("kept {path}", path=path)


def _thinned(times_s: list[float], speed: float) -> list[float]:
    """Those that are to be drawn, so that at that speed there are no more than MOST_FPS."""
    kept = times_s[:1]
    for time_s in times_s[1:]:
        if (time_s - kept[-1]) / speed > 0.99 / MOST_FPS:
            kept.append(time_s)
    return kept


def _drawn(reviewer: Reviewer, size: tuple[int, int]) -> Any:
    import pygame

    surface = pygame.Surface(size)
    reviewer.draw(surface, bare=True)
    return surface
