"""A phone's page played by a program: says what the page says, over the same TLS link, with a clock of its own."""

from __future__ import annotations

import json
import ssl
from contextlib import ExitStack, suppress
from types import TracebackType
from typing import Any, Callable

import cv2
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import ClientConnection, connect

from tests.support import burnt
from trainer.vision.sources.phone.messages import HEADER, PICTURE
from trainer.worker import Worker

WAIT_S = 10.0


def unverified() -> ssl.SSLContext:
    """As a user who goes on in spite of the warning."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    return context


def linked(address: str, origin: str | None = None) -> Any:
    """The WebSocket of a page at that address, for ``with``; nothing said yet."""
    place = address.replace("https", "wss", 1)
    own = address.rpartition("/")[0]
    return connect(place, ssl=unverified(), origin=origin or own, compression=None, max_size=None, open_timeout=WAIT_S)


def picture(number: int, captured_s: float, jpeg: bytes | None = None) -> bytes:
    """One picture's message; the frame number burnt in."""
    data = jpeg if jpeg is not None else jpeg_of(number)
    return HEADER.pack(PICTURE, number % 2**32, 1000 * captured_s, 1000 * captured_s) + data


def jpeg_of(number: int, width: int = 640, height: int = 480) -> bytes:
    done, data = cv2.imencode(".jpg", burnt.picture(number, width, height), [cv2.IMWRITE_JPEG_QUALITY, 90])
    assert done
    return bytes(data.tobytes())


class PhoneClient:
    """``with`` links it and answers pings until it is left. clock: the phone's own, s; heard: all that came, as text objects
    and bytes."""

    def __init__(self, address: str, clock: Callable[[], float], name: str = "0" * 32) -> None:
        self._clock = clock
        self._opened = ExitStack()
        self.connection: ClientConnection = self._opened.enter_context(linked(address))
        self.heard: list[Any] = []
        self.connection.send(json.dumps({"t": "hello", "phone": name}))
        self._worker = Worker("phone client", lambda stop: self._answer())

    def __enter__(self) -> PhoneClient:
        self._worker.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._opened.close()
        self._worker.join(WAIT_S)

    def said(self, kind: str) -> list[Any]:
        return [each for each in self.heard if isinstance(each, dict) and each["t"] == kind]

    def send(self, kind: str, **values: Any) -> None:
        self.connection.send(json.dumps({"t": kind, **values}))

    def show(self, number: int, captured_s: float, jpeg: bytes | None = None) -> None:
        self.connection.send(picture(number, captured_s, jpeg))

    def wait_until_closed(self) -> None:
        assert self._worker.join(WAIT_S)

    def _answer(self) -> None:
        with suppress(ConnectionClosed):
            for data in self.connection:
                message = json.loads(data) if isinstance(data, str) else data
                self.heard.append(message)
                if isinstance(message, dict) and message["t"] == "ping":
                    self.send("pong", n=message["n"], at=1000 * self._clock())
