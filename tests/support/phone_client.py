"""A phone's page played by a program: says what the page says, over the same TLS link, with a clock of its own."""

from __future__ import annotations

import asyncio
import json
import random
import ssl
from contextlib import suppress
from types import TracebackType
from typing import Any, Callable, Coroutine

import cv2
from websockets.asyncio.client import ClientConnection
from websockets.asyncio.client import connect as asyncio_connect
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect
from websockets.typing import Origin

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


def malformed(seed: int) -> bytes | str:
    """What no page of ours sends: noise, half a picture, wrong values, no JSON."""
    random_ = random.Random(seed)
    kind = seed % 4
    if kind == 0:
        return random_.randbytes(random_.randint(0, 300))
    if kind == 1:
        return picture(1, 1.0, jpeg_of(1, 160, 120)[: random_.randint(0, 900)])
    if kind == 2:
        return json.dumps(
            {"t": random_.choice(("pong", "state", "hello", "x")), "n": random_.choice((-1, "1", None, 1e99))}
        )
    return "{" * random_.randint(1, 3000)


class PhoneClient:
    """``with`` links it and answers pings until it is left. clock: the phone's own, s; heard: all that came, as text objects
    and bytes. All of the link is done by one thread: two on one TLS link now and then break it.
    """

    def __init__(self, address: str, clock: Callable[[], float], name: str = "0" * 32) -> None:
        self._clock = clock
        self._loop = asyncio.new_event_loop()
        self._worker = Worker("phone client", lambda stop: self._loop.run_forever())
        self._worker.start()
        self.heard: list[Any] = []
        try:
            self._connection: ClientConnection = self._done(self._linked(address))
        except BaseException:
            self._end()
            raise
        self.send("hello", phone=name)

    def __enter__(self) -> PhoneClient:
        self._answering = asyncio.run_coroutine_threadsafe(self._answer(), self._loop)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._done(self._connection.close())
        self.wait_until_closed()
        self._end()

    def said(self, kind: str) -> list[Any]:
        return [each for each in self.heard if isinstance(each, dict) and each["t"] == kind]

    def send(self, kind: str, **values: Any) -> None:
        self.send_raw(json.dumps({"t": kind, **values}))

    def send_raw(self, data: str | bytes) -> None:
        self._done(self._connection.send(data))

    def show(self, number: int, captured_s: float, jpeg: bytes | None = None) -> None:
        self.send_raw(picture(number, captured_s, jpeg))

    def drop(self) -> None:
        """Out of range: the link is cut without a word."""
        self._loop.call_soon_threadsafe(self._connection.transport.abort)

    def wait_until_closed(self) -> None:
        self._answering.result(WAIT_S)

    async def _linked(self, address: str) -> ClientConnection:
        place, own = address.replace("https", "wss", 1), address.rpartition("/")[0]
        return await asyncio_connect(
            place, ssl=unverified(), origin=Origin(own), compression=None, max_size=None, open_timeout=WAIT_S
        )

    async def _answer(self) -> None:
        with suppress(ConnectionClosed):
            async for data in self._connection:
                message = json.loads(data) if isinstance(data, str) else data
                self.heard.append(message)
                if isinstance(message, dict) and message["t"] == "ping":
                    answer = {"t": "pong", "n": message["n"], "at": 1000 * self._clock()}
                    await self._connection.send(json.dumps(answer))

    def _done(self, work: Coroutine[Any, Any, Any]) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(WAIT_S)

    def _end(self) -> None:
        self._loop.call_soon_threadsafe(self._loop.stop)
        assert self._worker.join(WAIT_S)
        self._loop.close()
