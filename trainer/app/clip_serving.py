"""What a ``ClipProcess`` does in its process, and what is sent there and back."""

from __future__ import annotations

import gc
import math
import mmap
import select
import signal
import time
import traceback
from contextlib import suppress
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from trainer.app import build
from trainer.domain.observation import Shake
from trainer.live.pipeline import Failed
from trainer.live.prefetch import Found, found_in_turn
from trainer.settings.model import Settings
from trainer.vision.body.pose import Array, PoseModels
from trainer.vision.head.witness import load as head_nets
from trainer.vision.observer import Observer
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.clip import Clip
from trainer.vision.sources.video_file import LONGEST_PX

AHEAD = 12  # frames found and waiting, so that a stroke put together (60 ms) holds nothing up; 11 MB at 640x480
# The model is asked in two threads while what else judges the clip waits for frames and leaves its core idle, in one where more
# than so many frames wait for it: what is said is the same.
MODEL_THREADS, FEW = 2, 2
PICTURE_BYTES = 3 * LONGEST_PX * LONGEST_PX  # at most; memory that is never written to takes no room
TAKEN = b"+"  # said to each frame: there is room for another
ENOUGH = b"-"  # said once to each clip, at its end or before


class Asked(NamedTuple):
    path: Path
    recorded_fps: float | None
    settings: Settings


class Opened(NamedTuple):
    """What a ``Clip`` says of itself before its first frame."""

    nominal_fps: float | None
    frames_said: int | None
    size: tuple[int, int]
    pace_known: bool
    notices: tuple[str, ...]


class Passed(NamedTuple):
    """A ``Found`` without its picture. points: (n, 3) of the names, or what stands in their place."""

    number: int
    time_s: float
    shake: Shake | None
    shape: tuple[int, ...]
    read_s: float
    names: tuple[str, ...] | None
    points: Any


class Fault(NamedTuple):
    """told: where it was raised, for a traceback cannot be sent."""

    error: Exception
    told: str


class Ended(NamedTuple):
    """worked_s: processor time that the clip took there."""

    measured_fps: float | None
    worked_s: float


def picture_at(memory: mmap.mmap, number: int, shape: tuple[int, ...]) -> Array:
    """The place of that frame's picture."""
    place = number % AHEAD * PICTURE_BYTES
    return np.frombuffer(memory, np.uint8, math.prod(shape), place).reshape(shape)


def serve(connection: Connection, others: Connection, memory: mmap.mmap) -> None:
    """One clip after the other, and single pictures between them, until nobody is there any more."""
    gc.freeze()  # nothing of before the fork is collected: a clip's decoder would wait for threads that are not here
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # it goes to all at once: who started this one ends it
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    others.close()
    with suppress(EOFError, ConnectionError):
        try:
            _answer_all(connection, memory)
        except (EOFError, ConnectionError):
            raise
        except Exception as error:
            connection.send(_fault(error))  # heard where the next answer is waited for


def _answer_all(connection: Connection, memory: mmap.mmap) -> None:
    import av  # noqa: F401  # it and the nets take 90 ms: not while the first clip is waited for

    head_nets()
    models = PoseModels(MODEL_THREADS)
    observer: Observer | None = None
    while True:
        asked = connection.recv()
        if isinstance(asked, Asked):
            observer = build.observer(asked.settings, body=build.pose_body(asked.settings, models))
            _read(asked, observer, models, connection, memory)
        else:
            assert observer is not None, "a clip comes first"
            connection.send(_answer(observer, asked))


class Waiting:
    """How many frames that were found have not been taken yet. enough: no more are wanted."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self.count, self.enough = 0, False

    def hear(self, most: float = math.inf) -> None:
        """What was said by now, and what is until no more than ``most`` wait or it is enough."""
        while not self.enough and (self.count > most or select.select([self._connection], [], [], 0)[0]):
            self.enough = self._connection.recv_bytes() == ENOUGH
            self.count -= 1


def _read(asked: Asked, observer: Observer, models: PoseModels, connection: Connection, memory: mmap.mmap) -> None:
    """A clip from its beginning; frame after frame goes over as there is room."""
    begun_s = time.process_time()
    try:
        clip = Clip(asked.path, recorded_fps=asked.recorded_fps)
    except Exception as error:
        connection.send(_fault(error))
        return
    with clip:
        connection.send(Opened(clip.nominal_fps, clip.frames_said, clip.size, clip.pace_known, clip.notices()))
        frames = found_in_turn(clip, build.guarded(observer).find_body, MonotonicClock())
        number, waiting = 0, Waiting(connection)
        ended: Fault | Ended | None = None
        while ended is None:
            waiting.hear()
            models.all_threads(waiting.count <= FEW)
            try:
                found = next(frames, None)
            except Exception as error:
                ended = _fault(error)
                break
            waiting.hear(AHEAD - 1)
            if found is None or waiting.enough:
                ended = Ended(clip.measured_fps, time.process_time() - begun_s)
                break
            picture_at(memory, number, found.frame.image.shape)[:] = found.frame.image
            connection.send(_passed(found))
            number, waiting.count = number + 1, waiting.count + 1
        connection.send(ended)
        waiting.hear(-1)


def _passed(found: Found) -> Passed:
    frame, body = found.frame, found.body
    names: tuple[str, ...] | None = None
    points: Any = None
    if isinstance(body, Failed):
        points = _fault(body.error)
    elif body is not None:
        names, points = tuple(body), np.array(list(body.values()))
    return Passed(frame.index, frame.time_s, frame.shake, frame.image.shape, found.read_s, names, points)


def _answer(observer: Observer, image: Array) -> Any:
    try:
        return observer.body.find(image)
    except Exception as error:
        return _fault(error)


def _fault(error: Exception) -> Fault:
    return Fault(error, "".join(traceback.format_exception(error)))
