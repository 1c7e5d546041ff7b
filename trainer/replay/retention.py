"""Shots from what was kept, and videos put beside the record while strokes go on."""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Callable

from trainer.coaching.verdict import kept_too_close, look_after_s
from trainer.errors import TrainerError
from trainer.replay.clip_frames import ClipFrames
from trainer.replay.clip_reader import Reader
from trainer.replay.frames import MemoryFrames
from trainer.replay.stroke_clip import StrokeClip, figure_shot
from trainer.store import video
from trainer.store.store import KeptStroke, Store
from trainer.store.video import StrokeKey
from trainer.texts import tr, tr_count
from trainer.vision.sources.video_file import SIDE_RANGE_PX
from trainer.worker import Worker

WRITE_S = 60.0  # for what still waits when the run ends
IDLE_S = 1.0  # the thread looks at its stop flag at least so often


def stored_shot(store: Store, base: Path, stroke_id: int) -> StrokeClip:
    """A stroke of the record: with its video if that was kept, else as a figure, and ``note`` says why.

    base: the data folder. Raises StoreError when there is no such stroke, or it is damaged.
    """
    kept = store.stroke(stroke_id)
    settings = kept.settings
    return replace(
        _shot(kept, store, base),
        limits=settings.limits,
        label=tr("stroke {number}", number=kept.stroke_id),
        student=kept.player,
        stroke_id=kept.stroke_id,
        faults=kept.faults,
        cues=kept.cues,
        too_close=kept_too_close(look_after_s(kept.record.measures), [fault.name for fault in kept.faults]),
    )


def _shot(kept: KeptStroke, store: Store, base: Path) -> StrokeClip:
    """With nothing said of it but how it is seen."""
    record, handedness = kept.record, kept.settings.player.handedness
    try:
        path = video.find(base, video.key_of(store, kept.stroke_id))
        if path is not None:
            return StrokeClip(record, _frames_of(path), handedness=handedness)
    except TrainerError as error:
        note = tr(
            "the kept video cannot be shown, so the stroke is drawn from its stored points ({what})", what=error.what
        )
        return figure_shot(record, handedness, note)
    return figure_shot(record, handedness)


def _frames_of(path: Path) -> ClipFrames:
    """Pictures as they were kept: the stroke's points are places in them. Raises TrainerError."""
    times = video.times_of(path)
    reader = Reader(path, jumps=path.suffix != video.OLD_ENDING, longest_px=SIDE_RANGE_PX[1])
    return ClipFrames(path, times, reader=reader).start()


class VideoKeeper:
    """``start``, then ``put``: writes strokes' videos in a thread of its own. What goes wrong is told in a line, and the
    strokes go on; what is no user's error is raised by ``put``, ``settled`` and ``close``.

    say: for one line; done: told of each path written, in the thread.
    """

    def __init__(
        self, base: Path, say: Callable[[str], None], done: Callable[[Path], None] = lambda path: None
    ) -> None:
        self._base, self._say, self._done = base, say, done
        self._change = threading.Condition()
        self._kept: set[str] = set()
        self._waiting: deque[tuple[StrokeKey, MemoryFrames]] = deque()
        self._busy = False
        self._worker = Worker("video", self._run, self._wake, gives_way=True)

    def start(self) -> None:
        self._worker.start()

    def put(self, key: StrokeKey, frames: MemoryFrames) -> bool:
        """False: this stroke's is kept already."""
        self._worker.check()
        with self._change:
            if key.uid in self._kept:
                return False
            self._kept.add(key.uid)
            self._waiting.append((key, frames))
            self._change.notify_all()
        return True

    def settled(self, timeout_s: float) -> bool:
        """Returns once nothing waits to be written. False: it took too long."""
        with self._change:
            done = self._change.wait_for(lambda: self._worker.ended or not (self._waiting or self._busy), timeout_s)
        self._worker.check()
        return done

    def close(self) -> None:
        """Returns once all is written, or says that the disk is too slow for it. May be called twice."""
        self._worker.stop()
        self._wake()
        if not self._worker.join(WRITE_S):
            self._say(tr("videos are still being written after {s:.0f} s; what is not done by now is lost", s=WRITE_S))

    def _wake(self) -> None:
        with self._change:
            self._change.notify_all()

    # ---- the thread

    def _run(self, stop: threading.Event) -> None:
        """Also when told to stop, what waits is written first."""
        while True:
            with self._change:
                self._busy = False
                self._change.notify_all()
                while not (self._waiting or stop.is_set()):
                    self._change.wait(IDLE_S)
                if not self._waiting:
                    return
                (key, frames), self._busy = self._waiting.popleft(), True
            self._write(key, frames)

    def _write(self, key: StrokeKey, frames: MemoryFrames) -> None:
        try:
            self._done(video.put(self._base, key, frames.jpegs, list(map(float, frames.times_s)), frames.size))
        except TrainerError as error:
            with self._change:
                self._kept.discard(key.uid)
            self._say(tr("the stroke's video was not kept: {line}", line=error.line()))


def tidy(base: Path, keep_days: float, keep_mb: float, now: datetime) -> str | None:
    """Deletes what is past the retention; a line that says what went, None: nothing. Raises StoreError."""
    files, size = video.forget(video.outlived(base, keep_days, keep_mb, now))
    if not files:
        return None
    return tr_count(
        "deleted {count} kept video past its time ({size_mb:.1f} MB)",
        "deleted {count} kept videos past their time ({size_mb:.1f} MB)",
        files,
        size_mb=size / 1e6,
    )
