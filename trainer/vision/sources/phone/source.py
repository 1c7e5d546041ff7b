"""A phone as a source of frames: true capture times on our clock, lost and found again, the newest frame for the reader."""

from __future__ import annotations

import math
import threading
from dataclasses import astuple, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Callable, Mapping

from trainer.domain.naming import PHONE
from trainer.domain.observation import Frame
from trainer.errors import CameraError
from trainer.texts import tr
from trainer.vision.sources.base import SLOW_AFTER_FRAMES, Clock, RateMeter, Source, Waiting, too_slow
from trainer.vision.sources.phone import messages
from trainer.vision.sources.phone.gate import Gate, new_secret
from trainer.vision.sources.phone.place import AUTO, Link, link_to, listening, own_address
from trainer.worker import Worker

if TYPE_CHECKING:
    from trainer.vision.sources.phone.server import Server

LOST_S = 3.0  # no new picture for so long: gone
POLL_S = 0.05
LET_GO_S = 5.0
LEFT_OUT_MOST = 1000  # pictures on end; more are another page's count
LEFT_OUT_SHARE = 0.05  # so many left out are told of
LEFT_OUT_FOR_S = 1.0  # after the last one
AHEAD_S, BEHIND_S = 0.25, 10.0  # a capture time may differ from now by so much
TURN_BACK = tr("Turn the phone back")
UPRIGHT = tr("it began upright, and stays so until the end")
ON_ITS_SIDE = tr("it began on its side, and stays so until the end")
LINKED = tr("The phone is linked"), tr("look at its page: it must be open and have the camera")
GONE = tr("The phone is gone"), tr("open its page again, and it goes on")
OPEN = tr("Open this on the phone"), tr("it warns of a certificate made at home: go on all the same")
LEAVES_OUT = tr("the phone leaves pictures out: its link or its processor is too slow")
DAMAGED = tr("a picture from the phone was damaged and left out")
NOT_INSTALLED = "pip install 'putting-trainer[phone]'"


@dataclass(frozen=True, slots=True)
class Guide:
    """The frame for the player on the phone's page: top and bottom as shares of the picture's height, width as a share of its
    own height.
    """

    top: float = 0.05
    bottom: float = 0.95
    wide: float = 1.0


@dataclass(frozen=True)
class PhoneOptions:
    """folder: of the data, where the certificate is kept; now: by which it is judged; width, height, rate: asked of the phone;
    address: "auto" or this computer's own; port: 0 is any; sounds: name -> WAV file, for a phone that plays the cues.
    """

    folder: Path
    now: datetime
    width: int = 640
    height: int = 480
    rate: float = 30.0
    address: str = AUTO
    port: int = 8443
    guide: Guide = Guide()
    sounds: Callable[[], Mapping[str, bytes]] = field(default=dict)


class PhoneCamera(Source):
    """``start`` opens the link; ``waiting`` tells what the user is to do; ``read`` gives the newest frame once there is one.

    Frames carry the time at which the phone took them, on ``clock``. A phone that goes is waited for: it links again by itself
    when its page is open. ``read`` gives None when it was ended on the phone. Raises CameraError from ``start``: not
    installed, no network, no port.
    """

    live = True
    name = PHONE

    def __init__(self, options: PhoneOptions, clock: Clock) -> None:
        self._options, self._clock = options, clock
        self._news = threading.Condition()
        self._worker = Worker("phone", self._own, self._wake)
        self._server: Server | None = None
        self.link: Link | None = None
        # Guarded by _news:
        self._slot: tuple[int, float, messages.Picture] | None = None
        self._index, self._came = -1, 0  # of the newest frame, how many came
        self._number = 0  # of the newest picture, by its page
        self._wanted = False
        self._over = False
        self._linked = False
        self._turned = False
        self._last_s: float | None = None  # time of the last frame
        self._left_out_s: float | None = None  # of the last one before which pictures were left out
        self._came_s: float | None = None  # when it came
        self._rate = RateMeter()
        self._notices: list[str] = []
        self._state: messages.State | None = None
        self.cue_delays_s: list[tuple[str, float]] = []

    def start(self) -> None:
        if self._worker.started:
            return
        asked = self._options
        host, secret = own_address(asked.address), new_secret()
        try:
            import segno  # noqa: F401  (before anything is opened)

            from trainer.vision.sources.phone.certificate import kept_certificate
            from trainer.vision.sources.phone.server import Server, Serving

            certificate = kept_certificate(asked.folder, host, asked.now)
        except ModuleNotFoundError as error:
            raise CameraError(tr("the phone's link needs {name}", name=error.name), PHONE, NOT_INSTALLED) from None
        listener = listening(host, asked.port)
        self.link = link_to(f"https://{host}:{listener.getsockname()[1]}", secret)
        welcome = {"width": asked.width, "height": asked.height, "rate": asked.rate, "guide": astuple(asked.guide)}
        serving = Serving(listener, certificate, Gate(secret, self._clock), welcome, asked.sounds())
        self._server = Server(serving, self, self._clock)
        self._worker.start()

    def read(self) -> Frame | None:
        with self._news:
            self._wanted = True
        while True:
            with self._news:
                while self._slot is None:
                    self._worker.check()
                    if self._at_end():
                        return None
                    self._news.wait(POLL_S)
                (index, time_s, picture), self._slot = self._slot, None
            frame = self._decoded(index, time_s, picture)
            if frame is not None:
                return frame

    def waiting(self) -> Waiting | None:
        link = self.link
        if link is None:
            return None
        with self._news:
            if self._over or self._slot is not None or self._worker.ended:
                return None
            if self._came_s is not None and self._clock.now() - self._came_s <= LOST_S and not self._turned:
                return None
            if self._turned:
                return Waiting(TURN_BACK, self._how_turned(), *_shown(link))
            if self._linked:
                return Waiting(*LINKED, *_shown(link))
            if self._came_s is not None:
                return Waiting(*GONE, *_shown(link))
        return Waiting(*OPEN, *_shown(link))

    def ready(self, wait_s: float) -> bool:
        with self._news:
            if self._slot is None and not self._at_end():
                self._news.wait(wait_s)
            return self._slot is not None or self._at_end()

    @property
    def loses_on_the_way(self) -> bool:
        with self._news:
            last_s, left_out_s = self._last_s, self._left_out_s
        return last_s is not None and left_out_s is not None and last_s - left_out_s < LEFT_OUT_FOR_S

    def play(self, name: str) -> bool:
        return self._server is not None and self._server.play(name)

    def close(self) -> bool:
        self._worker.stop()
        with self._news:
            self._slot = None
            self._news.notify_all()
        return self._worker.wait(LET_GO_S)

    @property
    def measured_fps(self) -> float | None:
        with self._news:
            return self._rate.fps

    def notices(self) -> tuple[str, ...]:
        asked, found = self._options, []
        width, height = self.size
        if width and (width, height) != (asked.width, asked.height):
            size, wanted = f"{width}x{height}", f"{asked.width}x{asked.height}"
            found.append(tr("the phone gives {size} where {wanted} was asked for", size=size, wanted=wanted))
        with self._news:
            if len(self._rate) >= SLOW_AFTER_FRAMES:
                found += too_slow(tr("the phone"), self._rate.fps, asked.rate)
            seen = self._index + 1
            if seen - self._came > LEFT_OUT_SHARE * seen:
                found.append(LEAVES_OUT)
            return (*found, *self._notices)

    # ---- in the server's thread

    def _own(self, stop: threading.Event) -> None:
        assert self._server is not None
        self._server.run(stop)

    def linked(self) -> None:
        with self._news:
            self._linked = True

    def unlinked(self) -> None:
        with self._news:
            self._linked = False

    def picture(self, picture: messages.Picture, time_s: float | None) -> bool:
        now_s = self._clock.now()
        if time_s is None:  # the clocks are still being laid over each other
            self._since(picture.number)
            return True
        if not now_s - BEHIND_S <= time_s <= now_s + AHEAD_S:
            return False
        with self._news:
            self._turned = self.size != (0, 0) and picture.size != self.size
            if self._turned:
                self._since(picture.number)
                return True
            if self._last_s is not None and time_s <= self._last_s:  # the same picture told twice
                if time_s <= self._last_s - LOST_S:
                    return False
                time_s = math.nextafter(self._last_s, math.inf)
            self.size = picture.size
            self.dropped += self._slot is not None and self._wanted
            passed = self._since(picture.number)
            self._left_out_s = time_s if passed > 1 else self._left_out_s
            self._index += passed
            self._came += 1
            self._slot = (self._index, time_s, picture)
            self._last_s, self._came_s = time_s, now_s
            self._rate.add(time_s)
            self._news.notify_all()
        return True

    def _since(self, number: int) -> int:
        """How many pictures the page saw since the newest; a page that was opened anew begins to count again."""
        passed = number - self._number
        self._number = number
        return passed if self._came and 0 < passed < LEFT_OUT_MOST else 1

    def state(self, state: messages.State) -> None:
        self.nominal_fps = state.rate
        with self._news:
            self._state = state

    def sounded(self, name: str, after_s: float) -> None:
        with self._news:
            self.cue_delays_s = [*self.cue_delays_s, (name, after_s)][-100:]

    def ended(self) -> None:
        with self._news:
            self._over = True
            self._news.notify_all()

    def notice(self, line: str) -> None:
        with self._news:
            if line not in self._notices:
                self._notices.append(line)

    def turned(self) -> str:
        with self._news:
            return self._how_turned() if self._turned else ""

    def _at_end(self) -> bool:
        return self._over or self._worker.ended or self._worker.stopping

    def _how_turned(self) -> str:
        upright = self.size[1] > self.size[0]
        return UPRIGHT if upright else ON_ITS_SIDE

    def _decoded(self, index: int, time_s: float, picture: messages.Picture) -> Frame | None:
        import cv2
        import numpy as np

        image = cv2.imdecode(np.frombuffer(picture.jpeg, np.uint8), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
        if image is None or (image.shape[1], image.shape[0]) != picture.size:
            self.notice(DAMAGED)
            return None
        return Frame(index, time_s, image)

    def _wake(self) -> None:
        with self._news:
            self._news.notify_all()


def _shown(link: Link) -> tuple[str, tuple[tuple[bool, ...], ...]]:
    return link.address, link.qr
