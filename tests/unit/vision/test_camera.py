"""The camera: newest frame only, one owner thread, every way of losing it said with what to do. None is needed."""

from __future__ import annotations

import os
import socket
import sys
import threading
from itertools import pairwise
from pathlib import Path
from typing import Any, Iterator

import cv2
import numpy as np
import pytest

from tests.support.paths import ROOT
from trainer.errors import CameraError, UsageError
from trainer.testing.fakes import FakeClock
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.camera import Camera, Patience
from trainer.vision.sources.camera_device import Address, Mode, missing, same_picture

STEP_S = 1 / 30
BRISK = Patience(first_picture_s=8.0, empty_s=0.0001, again_s=0.0)


def noise(seed: int, width: int = 64, height: int = 48) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)


class FakeCapture:
    """What OpenCV's capture does, from a script: "new", "same", "none" (nothing read), or an exception to raise.

    After the script it blocks as a dead driver does (``exhausted`` is set) until ``free``. Each read takes ``step_s``.
    """

    def __init__(self, script: list[Any], clock: FakeClock, step_s: float = STEP_S, opens: bool = True) -> None:
        self.script = list(script)
        self.clock, self.step_s, self.opens = clock, step_s, opens
        self.exhausted, self.free = threading.Event(), threading.Event()
        self.values: dict[int, float] = {}
        self.wishes: list[tuple[int, float]] = []
        self.threads: set[int] = set()
        self.released = 0
        self._count = 0

    def isOpened(self) -> bool:
        return self.opens

    def get(self, what: int) -> float:
        return self.values.get(what, 0.0)

    def set(self, what: int, value: float) -> bool:
        self.wishes.append((what, value))
        return True

    def read(self) -> tuple[bool, Any]:
        self.threads.add(threading.get_ident())
        if not self.script:
            self.exhausted.set()
            self.free.wait(20.0)
            return False, None
        what = self.script.pop(0)
        self.clock.advance(self.step_s)
        if isinstance(what, Exception):
            raise what
        if what == "none":
            return False, None
        self._count += what == "new"
        return True, noise(self._count)

    def release(self) -> None:
        self.threads.add(threading.get_ident())
        self.released += 1


class Ticking(FakeClock):
    """Half a second passes at every look: a watchdog need not be waited for."""

    def now(self) -> float:
        self.advance(0.5)
        return super().now()


@pytest.fixture
def cameras() -> Iterator[Any]:
    """Makes cameras of fake captures; ends their threads afterwards."""
    made: list[tuple[Camera, FakeCapture]] = []

    def make(capture: FakeCapture, clock: FakeClock, **more: Any) -> Camera:
        def opener(address: Address) -> FakeCapture:
            capture.threads.add(threading.get_ident())
            return capture

        camera = Camera(0, clock, opener=opener, **{"patience": BRISK, **more})
        camera.start()
        made.append((camera, capture))
        return camera

    yield make
    for camera, capture in made:
        capture.free.set()
        assert camera.close()


def test_newest_frame_only_stamped_when_read(cameras: Any) -> None:
    clock = FakeClock(10.0)
    capture = FakeCapture(["new"] * 9, clock)
    camera = cameras(capture, clock)
    assert capture.exhausted.wait(10.0)
    frame = camera.read()
    assert frame.index == 8
    assert frame.time_s == pytest.approx(10.0 + 9 * STEP_S)
    assert np.array_equal(frame.image, noise(9))
    assert camera.dropped == 0  # nobody asked yet
    assert camera.size == (64, 48)
    assert camera.measured_fps == pytest.approx(30.0)  # 8 gaps, not 9 frames
    assert camera.live


def test_frames_that_a_slow_reader_misses_are_counted(cameras: Any) -> None:
    clock = FakeClock()
    capture = FakeCapture(["new"], clock)
    camera = cameras(capture, clock)
    assert camera.read().index == 0
    assert capture.exhausted.wait(10.0)
    capture.script.extend(["new"] * 7)
    capture.exhausted.clear()
    capture.free.set()
    assert capture.exhausted.wait(10.0)
    assert camera.read().index == 3  # the five of the last 0.15 s wait
    assert camera.dropped == 2


def test_one_thread_opens_reads_and_releases(cameras: Any) -> None:
    clock = FakeClock()
    capture = FakeCapture(["new"], clock)
    camera = cameras(capture, clock)
    assert camera.read() is not None
    capture.free.set()
    assert camera.close()
    assert camera.read() is None
    assert camera.close()
    assert capture.released == 1
    assert len(capture.threads) == 1
    assert threading.get_ident() not in capture.threads


def test_repeated_pictures_are_not_new_ones(cameras: Any) -> None:
    clock = FakeClock()
    capture = FakeCapture(["new", "same", "same", "new", "same"], clock)
    camera = cameras(capture, clock)
    assert capture.exhausted.wait(10.0)
    assert camera.read().index == 1
    assert camera.repeated == 3


def test_time_rises_even_when_the_clock_stands(cameras: Any) -> None:
    clock = FakeClock(3.0)
    capture = FakeCapture(["new", "new"], clock, step_s=0.0)
    camera = cameras(capture, clock)
    assert capture.exhausted.wait(10.0)
    assert camera.read().time_s > 3.0


def fails(camera: Camera) -> str:
    with pytest.raises(CameraError) as caught:
        list(camera)
    line = str(caught.value)
    assert line.startswith("camera 0: ")
    assert "; " in line  # what to do
    assert "\n" not in line
    with pytest.raises(CameraError):  # and it stays so
        camera.read()
    return line


@pytest.mark.parametrize("script", [[], ["none"] * 10_000])
def test_no_first_picture_is_a_busy_camera(cameras: Any, script: list[str]) -> None:
    clock = Ticking()
    line = fails(cameras(FakeCapture(script, clock, step_s=0.0), clock))
    assert "another program may hold it" in line
    assert "close other programs" in line


def test_a_driver_that_throws_before_the_first_picture(cameras: Any) -> None:
    clock = FakeClock()
    line = fails(cameras(FakeCapture(["none", RuntimeError("bus\nerror")], clock), clock))
    assert "stopped working (bus error)" in line


def test_a_driver_that_never_returns_does_not_hold_us() -> None:
    clock = FakeClock()
    capture = FakeCapture(["new"], clock)
    camera = Camera(0, clock, opener=lambda address: capture, patience=Patience(let_go_s=0.02))
    camera.start()
    assert capture.exhausted.wait(10.0)
    assert not camera.close()
    assert camera.read() is None
    capture.free.set()


def test_asks_only_for_what_differs_and_reads_back(cameras: Any) -> None:
    clock = FakeClock()
    capture = FakeCapture(["new"], clock)
    capture.values = {
        cv2.CAP_PROP_FRAME_WIDTH: 1280.0,
        cv2.CAP_PROP_FRAME_HEIGHT: 480.0,
        cv2.CAP_PROP_FPS: 15.0,
        cv2.CAP_PROP_BUFFERSIZE: 1.0,
        cv2.CAP_PROP_FOURCC: float(cv2.VideoWriter.fourcc(*"YUYV")),
    }
    camera = cameras(capture, clock, mode=Mode(1280, 720, 30.0))
    assert capture.exhausted.wait(10.0)
    asked = dict(capture.wishes)
    assert asked == {
        cv2.CAP_PROP_FOURCC: cv2.VideoWriter.fourcc(*"MJPG"),  # a large picture, asked for compressed, first
        cv2.CAP_PROP_FRAME_HEIGHT: 720,
        cv2.CAP_PROP_FPS: 30.0,
    }
    assert capture.wishes[0][0] == cv2.CAP_PROP_FOURCC
    assert camera.nominal_fps == 15.0
    assert camera.notices() == ("camera 0 gives 64x48 where 1280x720 was asked for",)


def test_a_slow_camera_is_said_with_what_to_do(cameras: Any) -> None:
    clock = FakeClock()
    capture = FakeCapture(["new"] * 60, clock, step_s=1 / 12)
    camera = cameras(capture, clock, mode=Mode(64, 48, 30.0))
    assert capture.exhausted.wait(10.0)
    (line,) = camera.notices()
    assert "12 frames a second where 30" in line
    assert "turn a light on" in line


def test_a_camera_that_is_not_there(cameras: Any) -> None:
    clock = FakeClock()
    capture = FakeCapture([], clock, opens=False)
    fails(cameras(capture, clock))
    assert capture.released == 1


@pytest.mark.parametrize(
    ("given", "kind", "where"),
    [
        (0, "number", 0),
        ("2", "number", 2),
        ("/dev/video4", "device", "/dev/video4"),
        ("rtsp://host/stream", "stream", "rtsp://host/stream"),
    ],
)
def test_addresses(given: int | str, kind: str, where: int | str) -> None:
    assert Address.of(given) == Address(where, kind)


@pytest.mark.parametrize("given", ["front", "clip.mp4", "-1", ""])
def test_no_address(given: str) -> None:
    with pytest.raises(UsageError, match="neither a camera number"):
        Address.of(given)


@pytest.mark.skipif(os.name != "posix" or not Path("/dev").is_dir(), reason="devices are files on Linux only")
def test_what_is_said_of_a_missing_camera(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    assert "none is connected" in missing(Address.of(0), tmp_path)[2]
    (tmp_path / "video2").touch()
    assert "video2" in missing(Address.of(0), tmp_path)[2]
    assert "busy" in missing(Address.of(2), tmp_path)[2]
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    assert "group video" in missing(Address.of(2), tmp_path)[2]
    assert "cannot be reached" in missing(Address.of("http://here/"), tmp_path)[0]


def test_same_picture() -> None:
    a = noise(1)
    b = a.copy()
    assert same_picture(a, b)
    b[1, 1, 0] ^= 1  # not among the sampled ones
    assert not same_picture(a, b)
    assert not same_picture(a, noise(1, 32, 24))


def test_opencv_is_told_before_it_is_imported() -> None:
    import subprocess
    import sys

    code = (
        "import os, sys, trainer.vision;"
        "assert 'cv2' not in sys.modules;"
        "print(os.environ['OPENCV_VIDEOIO_MSMF_ENABLE_HW_TRANSFORMS'], os.environ['OPENCV_FFMPEG_LOGLEVEL'])"
    )
    root = ROOT
    plain = {k: v for k, v in os.environ.items() if not k.startswith("OPENCV_")}
    done = subprocess.run([sys.executable, "-c", code], cwd=root, env=plain, capture_output=True, text=True, timeout=60)
    assert done.stdout.split() == ["0", "-8"], done.stderr


@pytest.mark.skipif(any(Path("/dev").glob("video*")), reason="this machine has a camera")
def test_this_machine_has_no_camera(capfd: pytest.CaptureFixture[str]) -> None:
    camera = Camera(0, MonotonicClock())
    camera.start()
    try:
        line = fails(camera)
    finally:
        assert camera.close()
    assert "not there" in line or "cannot be opened" in line
    assert capfd.readouterr() == ("", "")


class PictureServer:
    """A network camera on this machine: ``count`` pictures one after another over HTTP, then it hangs up."""

    def __init__(self, count: int) -> None:
        self._socket = socket.create_server(("127.0.0.1", 0))
        self._socket.settimeout(20.0)
        self.address = f"http://127.0.0.1:{self._socket.getsockname()[1]}/"
        self._count = count
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        head = b"HTTP/1.0 200 OK\r\nContent-Type: multipart/x-mixed-replace; boundary=next\r\n\r\n"
        try:
            link, _ = self._socket.accept()
            with link:
                link.settimeout(10.0)
                link.recv(4096)
                link.sendall(head)
                for index in range(self._count):
                    data = cv2.imencode(".jpg", noise(index, 160, 120))[1].tobytes()
                    part = f"--next\r\nContent-Type: image/jpeg\r\nContent-Length: {len(data)}\r\n\r\n".encode()
                    link.sendall(part + data + b"\r\n")
        except OSError:
            pass

    def close(self) -> None:
        self._socket.close()
        self._thread.join(20.0)


def test_a_stream_is_read_and_its_end_noticed() -> None:
    """OpenCV itself, no fake: a stream on this machine, read as fast as it comes, waited for when the sender hangs up."""
    server = PictureServer(150)
    camera = Camera(server.address, MonotonicClock(), patience=Patience(lost_s=0.3))
    camera.start()
    try:
        seen: list[tuple[int, float]] = []
        while camera.waiting() is None:
            if camera.ready(0.05):
                frame = camera.read()
                assert frame is not None
                seen.append((frame.index, frame.time_s))
        assert seen
        assert camera.size == (160, 120)
        assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(seen))
        # Every frame is accounted for. Those before the first one seen count as dropped only where the reader had asked.
        first, last = seen[0][0], seen[-1][0]
        assert last - first + 1 <= len(seen) + camera.dropped <= last + 1
    finally:
        server.close()
        assert camera.close()
