"""A camera as a source of frames: one thread owns it, the newest frame waits for the reader, a watchdog tells its loss.

The numbers of threads named here are those of https://github.com/opencv/opencv/issues/NUMBER.
"""

from __future__ import annotations

import math
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Callable

import numpy as np

from trainer.domain.observation import Frame
from trainer.errors import CameraError, UsageError
from trainer.vision.sources.base import Clock, RateMeter, Source, too_slow
from trainer.worker import Worker

LOST_S = 3.0  # no new picture for so long: gone
# Longest wait for the first picture: Windows may negotiate (17687, 26495), macOS asks for permission. Our choice, no source.
FIRST_PICTURE_S = {"win32": 30.0, "darwin": 20.0}
FIRST_PICTURE_OTHERWISE_S = 8.0
LEAST_STEP_S = 0.001  # a coarse clock stands still between two pictures: speeds need a time between them
POLL_S = 0.05  # how often a waiting reader looks at the clock
EMPTY_READ_REST_S = 0.01
LET_GO_S = 3.0
SLOW_AFTER_FRAMES = 45
PLAIN_PIXELS = 640 * 480  # more than this at 30/s fills USB 2 unless compressed (9084, 12404)


@dataclass(frozen=True, slots=True)
class Mode:
    """What the camera is asked for; it may give something else, which is read back."""

    width: int = 640
    height: int = 480
    fps: float = 30.0


@dataclass(frozen=True, slots=True)
class Address:
    """where: number, path or stream address; kind tells which."""

    where: int | str
    kind: str  # "number", "device" or "stream"

    @classmethod
    def of(cls, where: int | str) -> Address:
        """Raises UsageError for a text that is none of the three."""
        text = str(where).strip()
        if text.isdigit():
            return cls(int(text), "number")
        if "://" in text:
            return cls(text, "stream")
        if text.startswith("/dev/"):
            return cls(text, "device")
        raise UsageError(
            "neither a camera number, a device path (/dev/video0) nor a stream address (rtsp://...)",
            f"camera {text!r}",
            "for a recorded clip use --clip",
        )

    @property
    def name(self) -> str:
        return f"camera {self.where}"


def open_capture(address: Address) -> Any:
    """OpenCV's capture, opened or not. Call it in the thread that will read and release it."""
    import cv2

    if address.kind == "stream":
        limits = [cv2.CAP_PROP_OPEN_TIMEOUT_MSEC, 8000, cv2.CAP_PROP_READ_TIMEOUT_MSEC, 5000]
        return cv2.VideoCapture(str(address.where), cv2.CAP_FFMPEG, limits)
    system = {"linux": cv2.CAP_V4L2, "darwin": cv2.CAP_AVFOUNDATION}.get(sys.platform, cv2.CAP_ANY)
    return cv2.VideoCapture(address.where, system)


class Camera(Source):
    """``start`` opens it in its own thread, which alone opens, reads and releases (7275). ``read`` gives the newest frame.

    Frames are stamped with ``clock`` right after they are read; a frame not taken in time is replaced by the next, and
    one identical to the last is not a new one: drivers may repeat the last picture of an unplugged camera for ever
    (5746, 14044).
    Raises CameraError from ``read``: not there, not allowed, no first picture (busy), no new picture for LOST_S (lost).
    """

    live = True

    def __init__(
        self,
        where: int | str,
        clock: Clock,
        mode: Mode | None = None,
        opener: Callable[[Address], Any] = open_capture,
        first_picture_s: float | None = None,
    ) -> None:
        self._address = Address.of(where)
        self.name = self._address.name
        self.mode = mode or Mode()
        self._clock = clock
        self._opener = opener
        self._first_picture_s = first_picture_s or FIRST_PICTURE_S.get(sys.platform, FIRST_PICTURE_OTHERWISE_S)
        self._begun_s = clock.now()
        self._news = threading.Condition()
        # Guarded by _news:
        self._slot: Frame | None = None
        self._loss: CameraError | None = None  # found by the watchdog
        self._wanted = False  # a reader has come: what it misses from now on is a loss
        self._last_new_s: float | None = None
        self._last_any_s: float | None = None
        self._rate = RateMeter()
        self.repeated = 0
        self.pixel_format = ""
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
            self._wanted = True
            while True:
                if self._slot is not None:
                    frame, self._slot = self._slot, None
                    return frame
                if self._loss is not None:
                    raise self._loss
                self._worker.check()
                if self._worker.ended or self._worker.stopping:
                    return None
                self._watch(self._clock.now())
                self._news.wait(POLL_S)

    def close(self) -> bool:
        """What went wrong in the thread is told by ``read``, not here."""
        self._worker.stop()
        with self._news:
            self._slot = None
        self._wake()
        return self._worker.wait(LET_GO_S)

    @property
    def measured_fps(self) -> float | None:
        with self._news:
            return self._rate.fps

    def notices(self) -> tuple[str, ...]:
        found = []
        width, height = self.size
        if width and (width, height) != (self.mode.width, self.mode.height) and self._address.kind != "stream":
            found.append(f"{self.name} gives {width}x{height} where {self.mode.width}x{self.mode.height} was asked for")
        with self._news:
            fps, enough = self._rate.fps, len(self._rate) >= SLOW_AFTER_FRAMES
        return (*found, *(too_slow(self.name, fps, self.mode.fps) if enough else ()))

    # ---- in the camera's own thread

    def _own(self, stop: threading.Event) -> None:
        capture = None
        try:
            capture = self._opener(self._address)
            if not capture.isOpened():
                raise CameraError(*missing(self._address))
            self._ask_mode(capture)
            self._pump(capture, stop)
        except CameraError:
            raise
        except Exception as error:
            what = f"stopped working ({' '.join(str(error).split())})"
            raise CameraError(what, self.name, UNPLUG) from error
        finally:
            if capture is not None:
                capture.release()

    def _pump(self, capture: Any, stop: threading.Event) -> None:
        index, last = 0, None
        while not stop.is_set():
            ok, image = capture.read()
            now_s = self._clock.now()
            if not ok or image is None:
                stop.wait(EMPTY_READ_REST_S)
                continue
            if last is not None and same_picture(image, last):
                with self._news:
                    self.repeated += 1
                    self._last_any_s = now_s
                stop.wait(EMPTY_READ_REST_S / 10)
                continue
            last = image
            with self._news:
                self.size = (int(image.shape[1]), int(image.shape[0]))
                self.dropped += self._slot is not None and self._wanted
                now_s = now_s if self._last_new_s is None else max(now_s, self._last_new_s + LEAST_STEP_S)
                self._slot = Frame(index, now_s, image)
                self._last_new_s = self._last_any_s = now_s
                self._rate.add(now_s)
                self._news.notify_all()
            index += 1

    def _ask_mode(self, capture: Any) -> None:
        """Asks for the mode, reads back what came of it. Asks only what differs: on Windows each takes 4 s (26495)."""
        import cv2

        if self._address.kind != "stream":
            wishes = [
                (cv2.CAP_PROP_FRAME_WIDTH, self.mode.width),
                (cv2.CAP_PROP_FRAME_HEIGHT, self.mode.height),
                (cv2.CAP_PROP_FPS, self.mode.fps),
            ]
            if self.mode.width * self.mode.height > PLAIN_PIXELS:
                wishes.insert(0, (cv2.CAP_PROP_FOURCC, cv2.VideoWriter.fourcc(*"MJPG")))
            if sys.platform == "linux":  # few obey; that we read on is what keeps it fresh (11047)
                wishes.append((cv2.CAP_PROP_BUFFERSIZE, 1))
            for what, value in wishes:
                if abs(float(capture.get(what)) - value) > 0.01:
                    capture.set(what, value)
        fps = float(capture.get(cv2.CAP_PROP_FPS))
        self.nominal_fps = fps if math.isfinite(fps) and 1.0 <= fps <= 1000.0 else None
        self.pixel_format = _four_letters(capture.get(cv2.CAP_PROP_FOURCC))

    def _wake(self) -> None:
        with self._news:
            self._news.notify_all()

    # ---- with _news held

    def _watch(self, now_s: float) -> None:
        if self._last_new_s is None:
            if now_s - self._begun_s > self._first_picture_s:
                raise self._lost(
                    f"gives no picture for {self._first_picture_s:.0f} s; another program may hold it",
                    "close other programs that use the camera, then start again",
                )
        elif now_s - self._last_new_s > LOST_S:
            repeating = self._last_any_s is not None and self._last_any_s > self._last_new_s
            if repeating:
                raise self._lost(
                    f"has shown one and the same picture for {LOST_S:.0f} s: unplugged, frozen or covered", UNPLUG
                )
            raise self._lost(f"has given no picture for {LOST_S:.0f} s: unplugged or frozen", UNPLUG)

    def _lost(self, what: str, todo: str) -> CameraError:
        self._worker.stop()
        self._loss = CameraError(what, self.name, todo)
        return self._loss


UNPLUG = "check the cable, plug the camera in again, then start again"


def same_picture(a: Any, b: Any) -> bool:
    """Bit for bit the same; a live sensor's noise never is. Cheap where they differ."""
    return a.shape == b.shape and np.array_equal(a[::16, ::16], b[::16, ::16]) and np.array_equal(a, b)


def missing(address: Address, devices: Path = Path("/dev")) -> tuple[str, str, str]:
    """What, where and what to do about a camera that does not open."""
    if address.kind == "stream":
        return "cannot be reached", address.name, "check the address and that the camera is on and in the same network"
    if sys.platform == "darwin":
        todo = "plug it in; in System Settings, Privacy, Camera allow this terminal, then start the terminal anew"
        return "cannot be opened", address.name, todo
    if sys.platform != "linux":
        return "cannot be opened", address.name, "plug it in, close other programs that use it, or try another number"
    path = Path(f"{devices}/video{address.where}") if address.kind == "number" else Path(str(address.where))
    if path.exists():
        import os

        if not os.access(path, os.R_OK | os.W_OK):
            return "may not be used", address.name, "add yourself to the group video, then log in again"
        return (
            "cannot be opened",
            address.name,
            "it may be busy or no camera: close other programs, or try another number",
        )
    others = ", ".join(str(p) for p in sorted(devices.glob("video*")))
    todo = f"plug it in, or try one of: {others}" if others else "plug a camera in; none is connected now"
    return "is not there", address.name, todo


def _four_letters(code: float) -> str:
    if not math.isfinite(code) or code <= 0:
        return ""
    return "".join(chr((int(code) >> 8 * i) & 0xFF) for i in range(4)).strip("\0 ")
