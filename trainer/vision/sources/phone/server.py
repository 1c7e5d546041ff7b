"""The small TLS server that a phone links to: one page, one link. Imported when a phone was asked for, never before.

One thread runs it all; what comes is handed on in that thread, what is to be sent may be told from any.
"""

from __future__ import annotations

import asyncio
import logging
import socket
import ssl
import threading
from contextlib import suppress
from dataclasses import dataclass, field
from http import HTTPStatus
from pathlib import Path
from typing import Any, Mapping, Protocol

from websockets.asyncio.server import ServerConnection, serve
from websockets.datastructures import Headers
from websockets.exceptions import ConnectionClosed
from websockets.http11 import Request, Response
from websockets.typing import Origin

from trainer.texts import tr
from trainer.vision.sources.base import Clock, RateMeter
from trainer.vision.sources.phone import messages
from trainer.vision.sources.phone.clock_map import ClockMap
from trainer.vision.sources.phone.frame_clock import FrameClock
from trainer.vision.sources.phone.gate import Allowance, Gate
from trainer.vision.sources.phone.messages import Malformed, Picture
from trainer.vision.sources.phone.page import page
from trainer.vision.sources.phone.place import is_local

OPEN_S, CLOSE_S = 5.0, 1.0  # a handshake may take so long; a leave-taking
HELLO_S = 3.0
ALIVE_S = 3.0  # heard of so lately, a phone keeps others out
PING_S, FIRST_PING_S = 1.0, 0.1
BEAT_S = 0.05  # how soon the end is noticed
MOST_CONNECTIONS, MOST_FROM_ONE = 64, 6
MESSAGES_S, BYTES_S = 400.0, 40e6  # a link may send so many a second, on the average over one
NORMAL, REFUSED, BROKEN = 1000, 4001, 1008
SILENT = logging.getLogger("trainer.phone")  # who knocks is told by notices; the library's own words go nowhere
SILENT.addHandler(logging.NullHandler())
SILENT.propagate = False


class Hears(Protocol):
    """Who is told what comes. Called in the server's thread."""

    def linked(self) -> None: ...
    def unlinked(self) -> None: ...
    def picture(self, picture: Picture, time_s: float | None) -> bool:
        """time_s: of our clock, None: not known yet. False: it was no use."""

    def state(self, state: messages.State) -> None: ...
    def sounded(self, name: str, after_s: float) -> None: ...
    def ended(self) -> None: ...
    def notice(self, line: str) -> None: ...
    def turned(self) -> str:
        """What is wrong with how the phone is turned, or nothing."""


@dataclass(frozen=True)
class Serving:
    """listener: a bound socket; certificate: key and certificate; welcome: what the page is told first (see page.js);
    sounds: name -> WAV file.
    """

    listener: socket.socket
    certificate: Path
    gate: Gate
    welcome: Mapping[str, Any]
    sounds: Mapping[str, bytes] = field(default_factory=dict)


class Talk:
    """The link to one phone, while it is the one."""

    def __init__(self, phone: str, connection: ServerConnection, now_s: float) -> None:
        self.phone, self.connection = phone, connection
        self.clock_map = ClockMap()
        self.frame_clock = FrameClock()
        self.heard_s = now_s
        self.pings: dict[int, float] = {}
        self.cues: dict[str, float] = {}
        self.rate = RateMeter()
        self.late_s: float | None = None
        self.sounds = False
        self._messages, self._bytes = Allowance(MESSAGES_S, now_s), Allowance(BYTES_S, now_s)
        self._pinged = 0

    def admit(self, data: bytes | str, now_s: float) -> None:
        """One more message. Raises Malformed when it is one too many."""
        self.heard_s = now_s
        self._messages.take(1, now_s)
        self._bytes.take(len(data), now_s)

    async def ping(self, clock: Clock, turned: str) -> None:
        """Asks for the phone's clock, and tells how the link is."""
        self._pinged += 1
        late_ms = round(1000 * self.late_s) if self.late_s is not None else 0
        words: dict[str, Any] = {"n": self._pinged, "fps": round(self.rate.fps or 0), "late": late_ms}
        if turned:
            words["turn"] = turned
        self.pings = {n: sent for n, sent in self.pings.items() if n > self._pinged - 8}
        self.pings[self._pinged] = clock.now()
        await self.connection.send(messages.said("ping", **words))

    def answered(self, answer: messages.Answer, now_s: float) -> None:
        sent_s = self.pings.pop(answer.number, None)
        if sent_s is not None:
            self.clock_map.add(sent_s, answer.at_ms / 1000, now_s)


class Server:
    """``run`` is a Worker's body. Raises what keeps it from serving."""

    def __init__(self, serving: Serving, hears: Hears, clock: Clock) -> None:
        self._serving, self._hears, self._clock = serving, hears, clock
        host, port = serving.listener.getsockname()[:2]
        self._origin = f"https://{host}:{port}"
        self._page, self._headers = page(self._origin)
        self._talk: Talk | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._ending = asyncio.Event()
        self.connections: set[ServerConnection] = set()  # open ones

    def run(self, stop: threading.Event) -> None:
        asyncio.run(self._serve(stop))

    def play(self, name: str) -> bool:
        """Begins a cue on the phone. False: it does not sound there. From any thread."""
        talk, loop = self._talk, self._loop
        if talk is None or loop is None or not talk.sounds or name not in self._serving.sounds:
            return False
        if self._clock.now() - talk.heard_s > ALIVE_S:
            return False
        talk.cues[name] = self._clock.now()
        asyncio.run_coroutine_threadsafe(self._tell(talk, messages.said("cue", name=name)), loop)
        return True

    async def _serve(self, stop: threading.Event) -> None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        context.load_cert_chain(self._serving.certificate)
        self._loop = asyncio.get_running_loop()
        self._loop.set_exception_handler(lambda loop, context: None)  # a stranger's broken handshake is no news
        bounded = _bounded(self.connections)
        async with serve(
            self._handle,
            sock=self._serving.listener,
            ssl=context,
            origins=[Origin(self._origin)],
            process_request=self._answer,
            create_connection=bounded,
            compression=None,
            server_header=None,
            open_timeout=OPEN_S + 10.0,  # whoever comes with a wrong secret waits within it
            ssl_handshake_timeout=OPEN_S,
            close_timeout=CLOSE_S,
            ping_interval=2.0,
            ping_timeout=6.0,
            max_size=messages.MOST_BYTES,
            max_queue=8,
            logger=SILENT,
        ):
            while not stop.is_set():
                await asyncio.sleep(BEAT_S)
            talk = self._talk
            self._ending.set()
            for connection in self.connections - ({talk.connection} if talk is not None else set()):
                connection.transport.abort()  # browsers open some ahead and say nothing; the server would wait for them
            if talk is not None:
                await self._tell(talk, messages.said("refused", why="The trainer has ended."))

    async def _answer(self, connection: ServerConnection, request: Request) -> Response | None:
        """None: the secret is right, and a link is wanted."""
        peer = str((connection.remote_address or ("",))[0])
        got = getattr(request, "method", "GET") == "GET"  # before websockets 17 it took no other
        if not (got and is_local(peer) and self._serving.gate.opens(request.path)):
            self._hears.notice(tr("somebody tried the phone's link with a wrong address, and got nothing"))
            with suppress(TimeoutError, asyncio.TimeoutError):  # a pause, broken off only by the end
                await asyncio.wait_for(self._ending.wait(), self._serving.gate.refused(peer))
            connection.transport.abort()
            return Response(HTTPStatus.NOT_FOUND.value, "", Headers())
        if "Upgrade" in request.headers:
            return None
        headers = Headers({**self._headers, "Content-Length": str(len(self._page))})
        return Response(HTTPStatus.OK.value, "OK", headers, self._page)

    async def _handle(self, connection: ServerConnection) -> None:
        try:
            first = messages.read(await asyncio.wait_for(connection.recv(), HELLO_S))
            if not isinstance(first, messages.Hello):
                raise Malformed("no hello")
        except (Malformed, TimeoutError, asyncio.TimeoutError, ConnectionClosed):
            await connection.close(BROKEN)
            return
        now_s, before = self._clock.now(), self._talk
        if before is not None and before.phone != first.phone and now_s - before.heard_s < ALIVE_S:
            self._hears.notice(tr("another phone tried to link while one was, and was sent away"))
            await connection.send(messages.said("refused", why="Another phone is linked. End it there first."))
            await connection.close(REFUSED)
            return
        talk = self._talk = Talk(first.phone, connection, now_s)
        if before is not None:
            await before.connection.close(NORMAL)
        await self._converse(talk)

    async def _converse(self, talk: Talk) -> None:
        self._hears.linked()
        pinging = asyncio.create_task(self._ping(talk))
        try:
            await self._tell(talk, messages.said("welcome", **self._serving.welcome))
            async for data in talk.connection:
                now_s = self._clock.now()
                talk.admit(data, now_s)
                await self._take(talk, messages.read(data), now_s)
        except Malformed:
            self._hears.notice(tr("the phone sent what no page of ours does; it has to link anew"))
            await talk.connection.close(BROKEN)
        except ConnectionClosed:
            pass  # the phone is gone, as is told below
        finally:
            pinging.cancel()
            if self._talk is talk:
                self._talk = None
                self._hears.unlinked()

    async def _take(self, talk: Talk, message: messages.Message, now_s: float) -> None:
        if isinstance(message, Picture):
            time_s = talk.clock_map.ours(talk.frame_clock.steady(message.captured_ms / 1000))
            if not self._hears.picture(message, time_s):
                raise Malformed("picture")
            if time_s is not None:
                talk.rate.add(time_s)
                talk.late_s = now_s - time_s
            await self._tell(talk, messages.said("got", n=message.number))
        elif isinstance(message, messages.Answer):
            talk.answered(message, now_s)
        elif isinstance(message, messages.State):
            talk.sounds = message.sounds
            self._hears.state(message)
        elif isinstance(message, messages.Sounded):
            begun_s = talk.cues.pop(message.name, None)
            if begun_s is not None:
                self._hears.sounded(message.name, (now_s - begun_s) + message.late_ms / 1000)
        elif isinstance(message, messages.Wish) and message.what == "sounds":
            for name, wav in self._serving.sounds.items():
                await self._tell(talk, messages.sound(name, wav))
        elif isinstance(message, messages.Wish):
            self._hears.ended()
        else:
            raise Malformed("a second hello")

    async def _ping(self, talk: Talk) -> None:
        """Often at first, so that pictures can be given soon."""
        with suppress(ConnectionClosed):  # ``_converse`` tells of it
            while True:
                await talk.ping(self._clock, self._hears.turned())
                await asyncio.sleep(PING_S if talk.clock_map.ready else FIRST_PING_S)

    async def _tell(self, talk: Talk, data: str | bytes) -> None:
        with suppress(ConnectionClosed):  # likewise
            await talk.connection.send(data)


def _bounded(open_now: set[ServerConnection]) -> type[ServerConnection]:
    """Connections beyond the bounds are dropped as they come. open_now: kept up to date."""

    class Bounded(ServerConnection):
        peer = ""

        def connection_made(self, transport: asyncio.BaseTransport) -> None:
            super().connection_made(transport)
            self.peer = str((transport.get_extra_info("peername") or ("",))[0])
            from_there = sum(isinstance(other, Bounded) and other.peer == self.peer for other in open_now)
            if len(open_now) >= MOST_CONNECTIONS or from_there >= MOST_FROM_ONE:
                self.transport.abort()
            else:
                open_now.add(self)

        def connection_lost(self, exc: Exception | None) -> None:
            open_now.discard(self)
            super().connection_lost(exc)

    return Bounded
