"""The phone's link cut again and again, slow, and sent what no page of ours sends: what is lost, how late pictures come.

python -m tests.bench.phone_harm [CUTS] [MALFORMED]     # 50 and 500 unless told otherwise; prints
"""

from __future__ import annotations

import socket
import sys
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path

import numpy as np

from tests.support import burnt
from tests.support.browser import Browser, write_y4m
from tests.support.phone_client import PhoneClient, jpeg_of, malformed
from tests.support.phone_recording import opened_link
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.phone.source import PhoneCamera

QUEUE = 65_536
SETTLES_S = 3.0
AFTER_EACH = 10  # pictures before it is cut again


def cut(folder: Path, times: int) -> str:
    """By the page's side, while a browser films."""
    clip, clock = write_y4m(folder / "camera.y4m", (burnt.picture(n) for n in range(150)), 30), MonotonicClock()
    back_s: list[float] = []
    with opened_link(folder, (640, 480), 30) as camera, Browser(clip) as browser:
        assert camera.link is not None
        browser.open(camera.link.address)
        cut_s, since = 0.0, 0
        for frame in camera:
            if cut_s and frame.time_s > cut_s + 0.3:  # what was on its way is not what came back
                back_s.append(clock.now() - cut_s)
                cut_s, since = 0.0, 0
            since += 1
            if not cut_s and since >= AFTER_EACH:
                if len(back_s) == times:
                    break
                browser.run("link.close()")
                cut_s = clock.now()
        told = _told(camera)
    half, most = np.percentile(back_s, (50, 100))
    return f"{len(back_s)} cuts: pictures again after {half:.1f} s (half of them), {most:.1f} s at most; told: {told}"


class Narrow:
    """A way to the trainer with a queue of 64 kB; ``bytes_s`` may be set at any time."""

    def __init__(self, port: int) -> None:
        self._port, self._done = port, threading.Event()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._ends: list[socket.socket] = [self._listener]
        self.port: int = self._listener.getsockname()[1]
        self.bytes_s = 1e9

    def __enter__(self) -> Narrow:
        threading.Thread(target=self._accept, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        self._done.set()
        for end in self._ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while not self._done.is_set():
                page, _ = self._listener.accept()
                page.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, QUEUE // 2)  # Linux doubles it
                trainer = socket.create_connection(("127.0.0.1", self._port))
                self._ends += [page, trainer]
                for one, other in ((page, trainer), (trainer, page)):
                    threading.Thread(target=self._carry, args=(one, other), daemon=True).start()

    def _carry(self, one: socket.socket, other: socket.socket) -> None:
        with suppress(OSError):
            while data := one.recv(4096):
                other.sendall(data)
                time.sleep(len(data) / self.bytes_s if self.bytes_s < 1e9 else 0.0)


def slow(folder: Path, bytes_s: float, seconds: float) -> str:
    """A link that is narrow for a while: how many pictures come, how late at first and at last, and how late once it is well."""
    clip, clock = write_y4m(folder / "camera.y4m", (burnt.picture(n) for n in range(150)), 30), MonotonicClock()
    late_ms: dict[str, list[float]] = {"well": [], "first half": [], "second half": [], "well again": []}
    with opened_link(folder, (640, 480), 30) as camera:
        assert camera.link is not None
        port = int(camera.link.address.split("/")[2].rpartition(":")[2])
        with Narrow(port) as way, Browser(clip, more=[f"--host-rules=MAP *:{port} 127.0.0.1:{way.port}"]) as browser:
            browser.open(camera.link.address)
            begun_s = None
            for frame in camera:
                begun_s = begun_s or clock.now()
                passed_s = clock.now() - begun_s - SETTLES_S
                stretch = int(passed_s // (seconds / 2)) + 1 if passed_s > 0 else 0
                if stretch > 3:
                    break
                way.bytes_s = bytes_s if stretch in (1, 2) else 1e9
                late_ms[list(late_ms)[stretch]].append(1000 * (clock.now() - frame.time_s))
    told = ", ".join(
        f"{name} {len(values)} pictures {np.median(values):.0f} ({max(values):.0f}) ms"
        for name, values in late_ms.items()
    )
    return f"{bytes_s / 1000:.0f} kB/s for {seconds:.0f} s: {told}; told: {_told(camera)}"


def sent_nonsense(folder: Path, count: int) -> str:
    """Each ends its link; afterwards a page links and films."""
    clock = MonotonicClock()
    with opened_link(folder, (640, 480), 30) as camera:
        assert camera.link is not None
        address = camera.link.address
        for seed in range(count):
            with PhoneClient(address, clock.now) as phone:
                phone.send_raw(malformed(seed))
                phone.wait_until_closed()
        came, number = 0, 0
        with PhoneClient(address, clock.now) as phone:
            data = jpeg_of(1)
            while came < AFTER_EACH:
                number += 1
                phone.show(number, clock.now(), data)
                clock.sleep(1 / 30)
                came += camera.ready(0.0) and camera.read() is not None
        return f"{count} malformed messages: each ended its link, then {came} pictures came; told: {_told(camera)}"


def _told(camera: PhoneCamera) -> str:
    return "; ".join(camera.notices()) or "nothing"


def main(arguments: list[str]) -> int:
    cuts, messages = (*map(int, arguments), *(50, 500)[len(arguments) :])
    with tempfile.TemporaryDirectory() as name:
        print(cut(Path(name), cuts), flush=True)
        for bytes_s in (500e3, 150e3):
            print(slow(Path(name), bytes_s, 10.0), flush=True)
        print(sent_nonsense(Path(name), messages), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
