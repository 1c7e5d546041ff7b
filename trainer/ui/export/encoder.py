"""A clip written while its pictures are drawn: encoded in a thread of its own, put in its place when it is whole."""

from __future__ import annotations

import sys
import threading
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from trainer.errors import TrainerError, UsageError
from trainer.live.queues import BoundedQueue
from trainer.mp4 import DRAWN, Mp4Writer, check_room
from trainer.output import CLIP, output_part
from trainer.texts import tr
from trainer.ui.export.files import check_name
from trainer.worker import Worker

WAITING = 6  # pictures drawn and not yet encoded: 17 MB at 1280 by 720
WAKE_S = 0.25
ENCODE_S = 120.0  # for what still waits at the end


class Encoder:
    """``add`` pictures (BGR, of one size) in order of time, then ``close``; or ``abandon``: then there is no file.

    sound: see ``Mp4Writer``. Raises UsageError where it cannot be written.
    """

    def __init__(self, path: Path, size: tuple[int, int], fps: float, sound: Any = None) -> None:
        check_name(path, CLIP, tr("a clip"))
        self._path = path
        self._undo = ExitStack()
        self._queue: BoundedQueue[tuple[Any, float]] = BoundedQueue(WAITING)
        self._until_s: float | None = None
        self._dropped = False
        try:
            check_room(path.parent, 0)
            part = self._undo.enter_context(output_part(path, CLIP))
            part.touch()
            self._writer = Mp4Writer(part, size, fps, DRAWN, sound)
        except OSError as error:
            self._failed(error)
        self._worker = Worker("encoder", self._run, self._queue.end)
        self._worker.start()
        self._open = True

    def add(self, image: Any, time_s: float) -> None:
        """The caller may not change the picture after it."""
        while not self._queue.put((image, time_s), WAKE_S):
            if self._worker.ended:
                self.close()
                raise UsageError(tr("cannot be written"), str(self._path), tr("try again"))

    def close(self, until_s: float | None = None) -> None:
        """until_s: how long the last picture stays. May be called twice."""
        if not self._open:
            return
        self._open, self._until_s = False, until_s
        self._queue.end()
        try:
            if not self._worker.join(ENCODE_S):
                raise OSError(0, tr("it took too long"))
            self._undo.close()
        except OSError as error:
            self._failed(error)
        except BaseException:
            self._undo.__exit__(*sys.exc_info())
            raise

    def abandon(self) -> None:
        """May be called twice, and after ``close``."""
        if self._open:
            self._open, self._dropped = False, True
            self._queue.end(drop=True)
            self._worker.wait(ENCODE_S)
            self._undo.__exit__(UsageError, UsageError("abandoned", str(self._path), ""), None)

    def _failed(self, error: OSError) -> None:
        self._undo.__exit__(type(error), error, error.__traceback__)
        if isinstance(error, TrainerError):
            raise error
        why = tr("cannot be written ({strerror})", strerror=error.strerror)
        raise UsageError(why, str(self._path), tr("choose another folder, or free some space")) from None

    def _run(self, stop: threading.Event) -> None:
        try:
            while not (self._queue.drained or stop.is_set()):
                work = self._queue.take(WAKE_S)
                if work is not None:
                    self._writer.add(*work)
        finally:
            if self._dropped or sys.exc_info()[0] is not None:
                self._writer.abandon()
            else:
                self._writer.close(self._until_s)
