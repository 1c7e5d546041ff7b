"""Shots from what was kept, and videos put beside the record while strokes go on."""

from __future__ import annotations

import threading
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import Callable

from trainer.errors import TrainerError
from trainer.replay.frames import MemoryFrames
from trainer.replay.stroke_clip import FIGURE_NOTE, StrokeClip, figure_shot
from trainer.store import video
from trainer.store.store import Store
from trainer.store.video import StrokeKey


def stored_shot(store: Store, base: Path, stroke_id: int) -> StrokeClip:
    """A stroke of the record: with its video if that was kept, else as a figure, and ``note`` says why.

    base: the data folder. Raises StoreError when there is no such stroke, or it is damaged.
    """
    kept = store.stroke(stroke_id)
    settings = kept.settings
    about = {
        "limits": settings.limits,
        "label": f"stroke {kept.stroke_id}",
        "student": kept.player,
        "stroke_id": kept.stroke_id,
        "faults": kept.faults,
    }
    handedness = settings.player.handedness
    note = FIGURE_NOTE
    try:
        path = video.find(base, video.key_of(store, stroke_id))
        if path is not None:
            frames = MemoryFrames(*video.read(path))
            return StrokeClip(kept.record, frames, handedness=handedness, **about)  # type: ignore[arg-type]
    except TrainerError as error:
        note = f"the kept video cannot be shown, so the stroke is drawn from its stored points ({error.what})"
    return figure_shot(kept.record, handedness, note, **about)


class VideoKeeper:
    """Writes strokes' videos in a thread of its own. What goes wrong is told in a line, and the strokes go on.

    say: for one line; done: told of each path written, in the thread.
    """

    def __init__(
        self, base: Path, say: Callable[[str], None], done: Callable[[Path], None] = lambda path: None
    ) -> None:
        self._base, self._say, self._done = base, say, done
        self._lock = threading.Lock()
        self._kept: set[str] = set()
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="video")

    def put(self, key: StrokeKey, frames: MemoryFrames) -> Future[None] | None:
        """None: this stroke's is kept already."""
        with self._lock:
            if key.uid in self._kept:
                return None
            self._kept.add(key.uid)
        return self._pool.submit(self._write, key, frames)

    def _write(self, key: StrokeKey, frames: MemoryFrames) -> None:
        try:
            self._done(video.put(self._base, key, frames.jpegs, list(map(float, frames.times_s)), frames.size))
        except TrainerError as error:
            with self._lock:
                self._kept.discard(key.uid)
            self._say(f"the stroke's video was not kept: {error.line()}")

    def close(self) -> None:
        """Returns once all is written."""
        self._pool.shutdown(wait=True)


def tidy(base: Path, keep_days: float, keep_mb: float, now: datetime) -> str | None:
    """Deletes what is past the retention; a line that says what went, None: nothing. Raises StoreError."""
    files, size = video.forget(video.outlived(base, keep_days, keep_mb, now))
    return f"deleted {files} kept videos past their time ({size / 1e6:.1f} MB)" if files else None
