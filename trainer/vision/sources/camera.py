"""A camera as a source of frames: one thread owns it, the newest frames wait for the reader, a loss is waited out.

The numbers of threads named here are those of https://github.com/opencv/opencv/issues/NUMBER.
"""

from __future__ import annotations

import sys
import threading
from dataclasses import dataclass
from typing import Any, Callable

from trainer.domain.observation import Frame
from trainer.errors import CameraError
from trainer.texts import tr
from trainer.vision.sources.backlog import Backlog
from trainer.vision.sources.base import SLOW_AFTER_FRAMES, Clock, RateMeter, Source, Waiting, too_slow
from trainer.vision.sources.camera_device import Address, Mode, ask_mode, missing, open_capture, same_picture
from trainer.worker import Worker

# Longest wait for the first picture: Windows may negotiate (17687, 26495), macOS asks for permission. Our choice, no source.
FIRST_PICTURE_S = {"win32": 30.0, "darwin": 20.0}
FIRST_PICTURE_OTHERWISE_S = 8.0
LEAST_STEP_S = 0.001  # a coarse clock stands still between two pictures: speeds need a time between them
POLL_S = 0.05  # how often a waiting reader looks at the clock


@dataclass(frozen=True, slots=True)
class Patience:
    """How long what is waited for, s. Our choice, no source.

    first_picture_s: after the start, then it is an error; lost_s: without a new picture, then the camera is gone; failing_s:
    of reads that fail, then it is opened anew; settling_s: the same before the first picture after that; again_s: from one
    opening to the next; empty_s: after a read that gave nothing; let_go_s: for the thread to end.
    """

    first_picture_s: float = FIRST_PICTURE_S.get(sys.platform, FIRST_PICTURE_OTHERWISE_S)
    lost_s: float = 3.0
    failing_s: float = 0.5
    settling_s: float = 1.5
    again_s: float = 0.5
    empty_s: float = 0.01
    let_go_s: float = 3.0


class Camera(Source):
    """``start`` opens it in its own thread, which alone opens, reads and releases (7275). ``read`` gives its frames in order.

    Frames are stamped with ``clock`` right after they are read; one not taken in time is lost (``Backlog``), and
    one identical to the last is not a new one: drivers may repeat the last picture of an unplugged camera for ever
    (5746, 14044). A camera that had given pictures and gives no more is opened anew until it does; ``waiting`` tells meanwhile.
    Raises CameraError from ``read``: not there, not allowed, no first picture (busy).
    """

    live = True

    def __init__(
        self,
        where: int | str,
        clock: Clock,
        mode: Mode | None = None,
        opener: Callable[[Address], Any] = open_capture,
        patience: Patience | None = None,
    ) -> None:
        self._address = Address.of(where)
        self.name = self._address.name
        self.mode = mode or Mode()
        self._clock = clock
        self._opener = opener
        self._patience = patience or Patience()
        self._begun_s = clock.now()
        self._last_image: Any = None  # the thread's own
        self._index = 0  # the thread's own
        self._news = threading.Condition()
        # Guarded by _news:
        self._backlog = Backlog()
        self._never: CameraError | None = None  # the first picture did not come
        self._last_new_s: float | None = None
        self._last_any_s: float | None = None
        self._trouble = ""  # what the driver said since the last new picture
        self._gone: Waiting | None = None  # in the same words until pictures come
        self._rate = RateMeter()
        self.repeated = 0
        self._worker = Worker("camera", self._own, self._wake)

    def start(self) -> None:
        if self._worker.started:
            return
        self._begun_s = self._clock.now()
        if sys.platform == "darwin" and self._address.kind != "stream":
            # The system's permission question appears only for an open on the main thread (7519, 15517). Untested here.
            self._opener(self._address).release()
        self._worker.start()

    def read(self) -> Frame | None:
        with self._news:
            while True:
                frame = self._backlog.take()
                if frame is not None:
                    return frame
                self._worker.check()
                if self._worker.ended or self._worker.stopping:
                    if self._never is not None:
                        raise self._never
                    return None
                if not self._overdue():
                    self._news.wait(POLL_S)

    def ready(self, wait_s: float) -> bool:
        with self._news:
            if not self._answers():
                self._news.wait(wait_s)
            return self._answers()

    def waiting(self) -> Waiting | None:
        with self._news:
            last_s = self._last_new_s
            if len(self._backlog) or last_s is None or self._worker.ended or self._worker.stopping:
                return None
            if self._gone is None and self._clock.now() - last_s > self._patience.lost_s:
                todo = tr("{why}: check its cable; it goes on by itself", why=self._why(last_s))
                self._gone = Waiting(tr("Waiting for the camera"), todo)
            return self._gone

    def close(self) -> bool:
        """What went wrong in the thread is told by ``read``, not here."""
        self._worker.stop()
        with self._news:
            self._backlog.clear()
        self._wake()
        return self._worker.wait(self._patience.let_go_s)

    @property
    def measured_fps(self) -> float | None:
        with self._news:
            return self._rate.fps

    def notices(self) -> tuple[str, ...]:
        found = []
        width, height = self.size
        if width and (width, height) != (self.mode.width, self.mode.height) and self._address.kind != "stream":
            seen, asked = f"{width}x{height}", f"{self.mode.width}x{self.mode.height}"
            found.append(tr("{name} gives {seen} where {asked} was asked for", name=self.name, seen=seen, asked=asked))
        with self._news:
            fps, enough = self._rate.fps, len(self._rate) >= SLOW_AFTER_FRAMES
        return (*found, *(too_slow(self.name, fps, self.mode.fps) if enough else ()))

    # ---- in the camera's own thread

    def _own(self, stop: threading.Event) -> None:
        """Opens and reads it, again and again once it had given pictures."""
        while not stop.is_set():
            try:
                self._use(stop)
            except CameraError:
                if self._last_new_s is None:
                    raise
            except Exception as error:
                what = tr("stopped working ({why})", why=" ".join(str(error).split()))
                if self._last_new_s is None:
                    raise CameraError(what, self.name, tr("check the cable, then start again")) from error
                with self._news:
                    self._trouble = self._trouble or what
            stop.wait(self._patience.again_s)

    def _use(self, stop: threading.Event) -> None:
        """From opening to release: until it is to end, or pictures that had come before come no more."""
        capture = self._opener(self._address)
        try:
            if not capture.isOpened():
                raise CameraError(*missing(self._address))
            self.nominal_fps = ask_mode(capture, self.mode, self._address)
            self._pump(capture, stop)
        finally:
            capture.release()

    def _pump(self, capture: Any, stop: threading.Event) -> None:
        asked, settled = self._patience, False
        since_s = self._clock.now()  # the last new picture, or the opening
        while not stop.is_set():
            ok, image = capture.read()
            now_s = self._clock.now()
            fails = not ok or image is None
            if not fails and (self._last_image is None or not same_picture(image, self._last_image)):
                self._take(image, now_s)
                since_s, settled = now_s, True
                continue
            if not fails:
                with self._news:
                    self.repeated += 1
                    self._last_any_s = now_s
            longest_s = asked.lost_s if not fails else asked.failing_s if settled else asked.settling_s
            if self._last_new_s is not None and now_s - since_s > longest_s:
                return
            stop.wait(asked.empty_s if fails else asked.empty_s / 10)

    def _take(self, image: Any, now_s: float) -> None:
        self._last_image = image
        with self._news:
            last_s = self._last_new_s
            if last_s is not None:
                now_s = max(now_s, last_s + LEAST_STEP_S)
                if now_s - last_s > self._patience.lost_s:
                    self._rate = RateMeter()
            self.size = (int(image.shape[1]), int(image.shape[0]))
            self.dropped += self._backlog.put(Frame(self._index, now_s, image))
            self._last_new_s = self._last_any_s = now_s
            self._trouble, self._gone = "", None
            self._rate.add(now_s)
            self._news.notify_all()
        self._index += 1

    def _wake(self) -> None:
        with self._news:
            self._news.notify_all()

    # ---- with _news held

    def _answers(self) -> bool:
        """``read`` would give or raise at once."""
        return len(self._backlog) > 0 or self._worker.ended or self._worker.stopping or self._overdue()

    def _overdue(self) -> bool:
        """The first picture has not come in time: from now on that is so."""
        longest_s = self._patience.first_picture_s
        if self._last_new_s is not None or self._clock.now() - self._begun_s <= longest_s:
            return False
        self._worker.stop()
        self._never = CameraError(
            tr("gives no picture for {longest_s:.0f} s; another program may hold it", longest_s=longest_s),
            self.name,
            tr("close other programs that use the camera, then start again"),
        )
        return True

    def _why(self, last_s: float) -> str:
        lost_s = self._patience.lost_s
        if self._trouble:
            return tr("it {trouble}", trouble=self._trouble)
        if self._last_any_s is not None and self._last_any_s > last_s:
            return tr("one and the same picture for {lost_s:.0f} s, unplugged, frozen or covered", lost_s=lost_s)
        return tr("no picture for {lost_s:.0f} s, unplugged or frozen", lost_s=lost_s)
