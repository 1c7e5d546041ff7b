"""A phone on a small stand, played: its page links as a browser does and films one picture, never faster than it is looked at."""

from __future__ import annotations

import threading
from contextlib import suppress
from datetime import datetime, timezone
from pathlib import Path

from websockets.exceptions import ConnectionClosed

from tests.support.phone_client import WAIT_S, PhoneClient
from trainer.domain.observation import Frame
from trainer.testing.fakes import FakeClock
from trainer.vision.sources.base import Waiting
from trainer.vision.sources.phone.clock_map import LEAST_TRIPS
from trainer.vision.sources.phone.source import PhoneCamera, PhoneOptions
from trainer.worker import Worker

AHEAD_S = 7000.0  # the phone's clock less ours
FPS = 15.0
SOON_S = 0.01


class PlayedPhone(PhoneCamera):
    """As a machine opens it, with the phone and its user: told what to open he does, films, and presses "End" after so many,
    and after another's user did. given: frames that were read.

    The link is the true one, over TLS on loopback; times are those of ``clock``, which the pictures move on.
    """

    def __init__(
        self, folder: Path, clock: FakeClock, jpeg: bytes, pictures: int, after: PlayedPhone | None = None
    ) -> None:
        now = datetime.now(timezone.utc)
        super().__init__(PhoneOptions(folder, now, address="127.0.0.1", port=0), clock)
        self.given = 0
        self._after, self._pressed_end = after, threading.Event()
        self._moved, self._jpeg, self.pictures = clock, jpeg, pictures
        self._told, self._taken = threading.Event(), threading.Semaphore(0)
        self._user = Worker("user with a phone", self._use)

    def start(self) -> None:
        super().start()
        if not self._user.started:
            self._user.start()

    def waiting(self) -> Waiting | None:
        waiting = super().waiting()
        if waiting is not None and waiting.address:
            self._told.set()
        return waiting

    def read(self) -> Frame | None:
        frame = super().read()
        self.given += frame is not None
        self._taken.release()
        return frame

    def put_away(self) -> None:
        """Raises what went wrong with it."""
        self._user.stop()
        assert self._user.wait(WAIT_S)
        self._user.check()

    def _use(self, stop: threading.Event) -> None:
        while not self._told.wait(SOON_S):
            if stop.is_set():
                return
        assert self.link is not None
        with suppress(ConnectionClosed), PhoneClient(self.link.address, self._phones_clock) as phone:
            while len(phone.said("ping")) <= LEAST_TRIPS:
                if stop.wait(SOON_S):
                    return
            number = 0
            while number < self.pictures:
                number += 1
                self._moved.advance(1 / FPS)
                phone.show(number, self._phones_clock() - 0.03, self._jpeg)
                while not self._taken.acquire(timeout=SOON_S):
                    if stop.is_set():
                        return
            if self._after is not None:
                assert self._after._pressed_end.wait(WAIT_S)
            phone.send("end")
            self._pressed_end.set()
            stop.wait(WAIT_S)

    def _phones_clock(self) -> float:
        return self._moved.now() + AHEAD_S
