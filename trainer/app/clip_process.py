"""On Linux clips are read, and bodies found in them, in a process of its own, ahead of all else that judges them.

Two threads of one interpreter wait for each other at every small call. Frames come over in order, their pictures by memory that
both share, the rest by a pipe: the same to the last bit as in one thread.
"""

from __future__ import annotations

import mmap
import multiprocessing
import sys
import threading
import warnings
from contextlib import suppress
from pathlib import Path
from typing import Any, Iterator

import cv2

from trainer.app.clip_serving import (
    AHEAD,
    ENOUGH,
    PICTURE_BYTES,
    TAKEN,
    Asked,
    Fault,
    Opened,
    Passed,
    picture_at,
    serve,
)
from trainer.domain.observation import Frame
from trainer.errors import TrainerError
from trainer.live.pipeline import Failed
from trainer.live.prefetch import Found
from trainer.processors import usable_processors
from trainer.settings.model import Settings
from trainer.texts import tr
from trainer.vision.body.pose import Array
from trainer.vision.sources.base import Source


class ClipProcess:
    """``with`` it, ``open`` one clip after the other. Not for two threads at once."""

    def __init__(self) -> None:
        self._memory = mmap.mmap(-1, AHEAD * PICTURE_BYTES)
        context = multiprocessing.get_context("fork")
        self._connection, theirs = context.Pipe()
        self._process = context.Process(target=serve, args=(theirs, self._connection, self._memory), daemon=True)
        with warnings.catch_warnings():
            # Python warns of any thread at all. ``possible``: none of ours runs; numpy's own end at a fork.
            warnings.simplefilter("ignore", DeprecationWarning)
            self._process.start()
        theirs.close()  # its end is then the other's alone, and is seen
        self._path = ""
        self.body = _BodyElsewhere(self)

    @staticmethod
    def possible() -> bool:
        """With two cores, where nothing else runs that a fork would copy half done: no thread of ours, none of OpenCV's."""
        alone = threading.active_count() == 1 and cv2.getNumThreads() == 1
        return sys.platform == "linux" and alone and usable_processors() > 1

    def __enter__(self) -> ClipProcess:
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()
        self._process.kill()
        self._process.join()

    def open(self, path: Path, settings: Settings, recorded_fps: float | None = None) -> ClipElsewhere:
        """Once the last one is closed. Raises ClipError."""
        self._path = str(path)
        return ClipElsewhere(self, path, self.asked(Asked(path, recorded_fps, settings)))

    def asked(self, what: Any) -> Any:
        self.say(what)
        return self.heard()

    def say(self, what: Any) -> None:
        """Bytes, or any other value. To one that was ended from outside too: that is told where it is listened to."""
        with suppress(OSError):
            self._connection.send_bytes(what) if isinstance(what, bytes) else self._connection.send(what)

    def heard(self) -> Any:
        """What it says next. Raises what it failed of."""
        try:
            said = self._connection.recv()
        except (EOFError, ConnectionError):
            raise TrainerError(tr("its process was ended from outside"), self._path) from None
        except BaseException:  # half heard: what follows would not be understood
            self._process.kill()
            raise
        if isinstance(said, Fault):
            raise said.error from RuntimeError(said.told)
        return said

    def picture(self, number: int, shape: tuple[int, ...]) -> Array:
        """Of that frame, until it is said that there is room for another."""
        return picture_at(self._memory, number, shape).copy()


class ClipElsewhere(Source):
    """As ``Clip``, read by a ``ClipProcess``. worked_s: processor time that it took there, once it has ended."""

    def __init__(self, process: ClipProcess, path: Path, opened: Opened) -> None:
        self.name, self.where = path.name, str(path)
        self.nominal_fps, self.frames_said, self.size, self.pace_known, self._notices = opened
        self.body, self.worked_s = process.body, 0.0
        self._process = process
        self._frames = 0
        self._measured_fps: float | None = None
        self._ended = False

    @property
    def measured_fps(self) -> float | None:
        return self._measured_fps

    def notices(self) -> tuple[str, ...]:
        return self._notices

    def read(self) -> Frame | None:
        found = next(self.found(), None)
        return None if found is None else found.frame

    def found(self) -> Iterator[Found]:
        """The frames that are left, each with its body. Raises what the clip or the model raised, after the last good frame."""
        while not self._ended and (passed := self._next()) is not None:
            image = self._process.picture(self._frames, passed.shape)
            self._process.say(TAKEN)
            self._frames += 1
            yield Found(Frame(passed.number, passed.time_s, image, passed.shake), _body(passed), passed.read_s)

    def close(self) -> bool:
        """Frames that were found ahead are dropped."""
        if not self._ended:
            self._process.say(ENOUGH)
            with suppress(Exception):  # what went wrong there since, of any class: no more of this clip is wanted
                while self._next(told=True) is not None:
                    continue
        return True

    def _next(self, told: bool = False) -> Passed | None:
        """None: the clip has ended. told: it was told that it is enough."""
        try:
            said = self._process.heard()
        except BaseException:
            self._end(told)
            raise
        if isinstance(said, Passed):
            return said
        self._measured_fps, self.worked_s = said
        self._end(told)
        return None

    def _end(self, told: bool) -> None:
        self._ended = True
        if not told:
            self._process.say(ENOUGH)


class _BodyElsewhere:
    """The pose model there, as the last clip has left it: a ``BodyTracker``."""

    def __init__(self, process: ClipProcess) -> None:
        self._process = process

    def find(self, image_bgr: Array) -> dict[str, Array] | None:
        found: dict[str, Array] | None = self._process.asked(image_bgr)
        return found

    def close(self) -> None:
        return


def _body(passed: Passed) -> Any:
    if isinstance(passed.points, Fault):
        passed.points.error.__cause__ = RuntimeError(passed.points.told)
        return Failed(passed.points.error)
    return None if passed.names is None else dict(zip(passed.names, passed.points))
