"""Any frame of a clip file, frame exact; at once the nearest one.

A file may have few key frames, and any frame is to be there at once when it is stepped to. So frames are decoded in a thread
of their own, the wanted stretch first, and compressed in another, to be kept; a jump is believed only when the time stamp
of the frame it lands on is one that is known. That frame is kept too: it can be shown while the wanted one is decoded.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any, Sequence

import numpy as np

from trainer.domain.record import Floats
from trainer.errors import ClipError
from trainer.replay.clip_reader import Reader, times_of
from trainer.replay.frames import Still, checked, decoded, nearest
from trainer.texts import tr
from trainer.worker import Worker

CACHE_MB = 192.0
QUALITY = 92  # JPEG: nothing is to be seen of it in a still
BLOCK = 32  # frames decoded in one go when going backwards
AROUND = 96  # frames kept ready on either side of the one last asked for
RAW_MOST = 32  # pictures; more are compressed even while somebody waits
RAW_BYTES = 64e6  # pictures decoded and not yet compressed: there already, and decoding need not wait for compressing
TIMEOUT_S = 30.0  # for one frame, and for the threads to end
IDLE_S = 1.0  # the threads look at their stop flags at least so often
SOON_S = 0.035  # a hand that scrubs waits so long for the very frame,
LANDING_S = 0.02  # and so much longer for the key frame that is jumped to
AGAIN_S = 0.015  # or so long when it asks for the same one again
ON_THE_WAY = 8  # frames kept before the one that is decoded for
OPENING_S = 0.25  # at most so long is spent on having the wanted stretch ready


class ClipFrames:
    """times_s: of all frames, where they are known from reading the clip before, else the clip is read for them.

    around_s: (from, to): what is wanted first; cache_mb: compressed frames kept; reader: of the path, unless given.
    ``start`` opens the file and waits for the first picture; ``frame`` and ``soon`` may be called after it. All raise
    ClipError, and what went wrong in the threads.
    """

    drawn = False
    offset_px = (0.0, 0.0)

    def __init__(
        self,
        path: Path,
        times_s: Sequence[float] | Floats | None = None,
        around_s: tuple[float, float] | None = None,
        cache_mb: float = CACHE_MB,
        reader: Reader | None = None,
    ) -> None:
        self.path = Path(path)
        self._reader = reader or Reader(self.path)
        known = times_s is not None and len(times_s) > 0
        self.times_s: Floats = np.asarray(times_s, dtype=np.float64) if known else times_of(self.path)
        count = len(self.times_s)
        self._first = nearest(self.times_s, around_s[0]) if around_s else 0
        self._last = nearest(self.times_s, around_s[1]) if around_s else count - 1
        self._focus = self._first
        self._most = max(1, int(cache_mb * 1e6))
        self._raw: dict[int, Any] = {}
        self._kept: dict[int, bytes] = {}
        self._bytes = 0
        self._short_at = count  # the first frame that the file does not hold after all
        self._wants: set[int] = set()  # frames that are waited for
        self._soon: int | None = None  # the frame last scrubbed to, until it is there
        self._aim: int | None = None  # the frame that is decoded for
        self._landed_for: int | None = None  # the frame for which a step was done last
        self._closed = False
        self._around = around_s is not None
        self._change = threading.Condition()
        works = (("clip frames", self._run), ("clip pictures", self._compress))
        self._workers = [Worker(name, work, self._wake) for name, work in works]
        self.size: tuple[int, int] = (0, 0)

    def start(self) -> ClipFrames:
        """Returns itself, its size known."""
        self._reader.open()
        for worker in self._workers:
            worker.start()
        try:
            height, width = self.frame(self._first).shape[:2]
        except BaseException:
            self._end()
            raise
        self.size = (width, height)
        if self._around:
            stretch = range(self._first, self._last + 1)
            with self._change:
                self._change.wait_for(lambda: self._over() or all(map(self._has, stretch)), OPENING_S)
        return self

    @property
    def ready(self) -> float:
        """Share of the frames that are there at once."""
        with self._change:
            return (len(self._kept) + len(self._raw)) / len(self.times_s)

    def nearest(self, time_s: float) -> int:
        return nearest(self.times_s, time_s)

    def frame(self, index: int) -> Any:
        checked(index, len(self.times_s))
        self._check()
        with self._change:
            self._focus = index
            if not self._has(index):
                self._wants.add(index)
            self._change.notify_all()
            had = self._change.wait_for(lambda: self._has(index) or self._over() or index >= self._short_at, TIMEOUT_S)
            if not self._has(index):
                raise self._unseen(index, had)
            held = self._held(index)
        return _picture(held)

    def soon(self, index: int) -> Still:
        checked(index, len(self.times_s))
        self._check()

        def had() -> bool:
            return self._has(index) or self._over() or index >= self._short_at

        with self._change:
            again = self._soon == index
            if not again:
                self._soon, self._aim = None if self._has(index) else index, None
            self._focus = index
            self._change.notify_all()
            if not self._change.wait_for(had, AGAIN_S if again else SOON_S) and not again:
                self._change.wait_for(lambda: had() or self._landed_for == index, LANDING_S)
            there = None if had() else min((*self._kept, *self._raw), key=lambda i: abs(i - index), default=None)
            held = self._held(there)
        return Still(_picture(held), there, False) if there is not None else Still(self.frame(index), index)

    def close(self) -> None:
        """May be called twice. Raises what went wrong in the threads and is no fault of the file."""
        self._end()
        self._check()

    def _check(self) -> None:
        for worker in self._workers:
            if not isinstance(worker.failure, ClipError):  # that is told when a frame is missing for it
                worker.check()

    def _end(self) -> None:
        self._closed = True
        for worker in self._workers:
            worker.stop()
        self._wake()
        for worker in self._workers:
            worker.wait(TIMEOUT_S)
        self._raw.clear()
        self._kept.clear()

    def _wake(self) -> None:
        with self._change:
            self._change.notify_all()

    def _over(self) -> bool:
        """No frame comes any more: it is closed, or a thread has ended."""
        return self._closed or any(worker.ended for worker in self._workers)

    @property
    def _hurried(self) -> bool:
        """Somebody waits: what can be done later is done later."""
        soon = self._soon
        waited = soon is not None and soon < self._short_at and not self._has(soon)
        return (waited or bool(self._wants)) and len(self._raw) < RAW_MOST

    def _has(self, index: int) -> bool:
        return index in self._kept or index in self._raw

    def _held(self, index: int | None) -> Any:
        """A picture, or its JPEG; None: neither."""
        return None if index is None else self._raw.get(index, self._kept.get(index))

    def _unseen(self, index: int, had: bool) -> BaseException:
        for worker in self._workers:
            if worker.failure is not None:
                return worker.failure
        if self._closed:
            return ClipError(tr("is closed already"), str(self.path), tr("open it again"))
        why = tr("frame {index} cannot be read", index=index) if had else tr("frame {index} took too long", index=index)
        return ClipError(why, str(self.path), tr("copy the clip again, or show another stroke"))

    # ---- the threads

    def _run(self, stop: threading.Event) -> None:
        try:
            while (target := self._awaited(stop)) is not None:
                self._step_toward(*target)
        finally:
            self._reader.close()

    def _awaited(self, stop: threading.Event) -> tuple[int, bool] | None:
        """The next frame to decode, waiting for a reason to, and whether it is another than before; None: closed."""
        with self._change:
            while not stop.is_set():
                target = self._next()
                if target is not None:
                    other, self._aim = target != self._aim, target
                    return target, other
                self._change.wait(IDLE_S)
        return None

    def _next(self) -> int | None:
        wanted = [i for i in self._wants if i < self._short_at]
        if wanted:
            return min(wanted)
        for begun in (self._soon, self._aim):
            if begun is not None and begun < self._short_at and not self._has(begun):
                return begun
        if sum(image.nbytes for image in self._raw.values()) > RAW_BYTES:
            return None
        count, focus, here = self._short_at, self._focus, self._reader.position
        spans = [
            (here if self._first <= here else self._first, min(self._last + 1, count)),
            (self._first, min(self._last + 1, count)),
            (focus, min(focus + AROUND, count)),
            (max(0, focus // BLOCK * BLOCK - AROUND), min(focus, count)),
        ]
        if self._bytes < 0.9 * self._most:
            spans += [(min(here, count), count), (0, count)]
        for low, high in spans:
            for i in range(low, high):
                if not self._has(i):
                    if self._worth(i):
                        return i
                    break
        return None

    def _worth(self, index: int) -> bool:
        """There is room, or something farther away to make room."""
        if self._bytes < 0.9 * self._most or not self._kept:
            return True
        return abs(index - self._focus) < max(abs(i - self._focus) for i in (min(self._kept), max(self._kept)))

    def _step_toward(self, index: int, first: bool) -> None:
        """A single step, so that a frame that is wanted more need not wait for all. first: toward that frame."""
        at = self._reader.step_toward(index, self.times_s)
        worth = at is not None and (first or index - at <= ON_THE_WAY) and not self._has(at)
        image = self._reader.picture() if worth else None
        with self._change:
            if at is None:
                self._short_at = min(self._short_at, index)
            elif worth:
                self._raw[at] = image
            self._landed_for = index
            if at is None or at == index:
                self._wants.discard(index)
                self._aim = None if self._aim == index else self._aim
            self._change.notify_all()

    def _compress(self, stop: threading.Event) -> None:
        import cv2

        while True:
            with self._change:
                while not ((self._raw and not self._hurried) or stop.is_set()):
                    self._change.wait(IDLE_S)
                if stop.is_set():
                    return
                index, image = next(iter(self._raw.items()))
            done, jpeg = cv2.imencode(".jpg", image, (cv2.IMWRITE_JPEG_QUALITY, QUALITY))
            with self._change:
                self._raw.pop(index, None)
                if done:
                    self._kept[index] = jpeg.tobytes()
                    self._bytes += len(self._kept[index])
                    self._make_room()
                else:
                    self._short_at = min(self._short_at, index)
                self._change.notify_all()

    def _make_room(self) -> None:
        while self._bytes > self._most and len(self._kept) > 1:
            far = max((i for i in self._kept if i not in self._wants), key=lambda i: abs(i - self._focus))
            self._bytes -= len(self._kept.pop(far))


def _picture(held: Any) -> Any:
    """The caller's own, of a picture or its JPEG."""
    return decoded(held) if isinstance(held, bytes) else held.copy()
