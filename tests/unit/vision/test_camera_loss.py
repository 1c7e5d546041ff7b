"""A camera that goes and comes back: waited for, said once, back within 2 s, its times true and rising."""

from __future__ import annotations

import random
import threading
from contextlib import contextmanager
from itertools import pairwise
from typing import Any, Iterator, get_args

import numpy as np
import pytest

from trainer.errors import CameraError
from trainer.live.linking import TellsLink
from trainer.testing.fake_device import FakeDevice, Loss
from trainer.testing.fakes import FakeClock, FakeReporter
from trainer.vision.sources.camera import Camera, Patience

BACK_S = 2.0
PROMPT = Patience(first_picture_s=8.0, again_s=0.0, empty_s=0.0)  # the device's own calls take their time


def pictures() -> Any:
    rng = np.random.default_rng(1)
    return lambda: rng.integers(0, 256, (4, 6, 3), np.uint8)


@contextmanager
def camera_of(device: FakeDevice, patience: Patience = PROMPT) -> Iterator[Camera]:
    camera = Camera(0, device.clock, opener=device.opener, patience=patience)
    camera.start()
    device.begin()
    try:
        yield camera
    finally:
        device.free()
        assert camera.close()
        assert device.opened == device.released


def newest(camera: Camera) -> Any:
    """The frame that waits, if one does."""
    return camera.read() if camera.ready(0.0) else None


def waits(camera: Camera, device: FakeDevice, steps: int = 60) -> Any:
    """What the user is told, once steps have led to that."""
    for _ in range(steps):
        if camera.waiting() is not None:
            return camera.waiting()
        device.step()
        newest(camera)
    return None


def test_lost_a_hundred_times_and_back() -> None:
    rng = random.Random(7)
    device = FakeDevice(FakeClock(100.0), pictures())
    reporter = FakeReporter()
    frames, slowest_s = [], 0.0
    with camera_of(device) as camera:
        tells = TellsLink([camera], reporter)
        for lost in range(1, 101):
            for _ in range(rng.randrange(5, 20)):
                device.step()
                frames.append(newest(camera))
            assert not tells.tell()
            device.lose(rng.choice(get_args(Loss)))
            lost_s, gone_s = device.clock.now(), rng.uniform(4.0, 9.0)
            while device.clock.now() < lost_s + gone_s:
                device.step()
                assert not camera.ready(0.0)
                assert tells.tell() == (device.clock.now() - frames[-1].time_s > PROMPT.lost_s)
            device.come_back()
            back_s, frame = device.clock.now(), None
            while frame is None:
                assert device.clock.now() < back_s + 10 * BACK_S, "it does not come back"
                tells.tell()
                device.step()
                frame = newest(camera)
            frames.append(frame)
            slowest_s = max(slowest_s, frame.time_s - back_s)
            assert not tells.tell()
            assert len(reporter.lines) == 2 * lost, reporter.lines[-3:]
        assert camera.dropped == 0
    assert slowest_s < BACK_S, slowest_s
    frames = [frame for frame in frames if frame is not None]
    assert [frame.index for frame in frames] == list(range(len(frames)))
    assert [frame.time_s for frame in frames] == device.given[: len(frames)]
    assert all(a.time_s < b.time_s for a, b in pairwise(frames))
    assert all("camera 0: waiting for the camera; " in line for line in reporter.lines[::2])
    assert set(reporter.lines[1::2]) == {"camera 0: pictures come"}


@pytest.mark.parametrize(
    ("loss", "words"),
    [
        ("unplugged", "no picture for 3 s, unplugged or frozen"),
        ("silent", "no picture for 3 s, unplugged or frozen"),
        ("frozen", "one and the same picture for 3 s, unplugged, frozen or covered"),
        ("broken", "it stopped working (the driver broke)"),
    ],
)
def test_what_is_said_of_each_loss(loss: Loss, words: str) -> None:
    device = FakeDevice(FakeClock(), pictures())
    with camera_of(device) as camera:
        for _ in range(4):
            device.step()
        device.lose(loss)
        waiting = waits(camera, device)
        assert waiting.words == "Waiting for the camera"
        assert waiting.todo == f"{words}: check its cable; it goes on by itself"


def test_a_short_loss_is_not_said_and_its_times_are_true() -> None:
    device = FakeDevice(FakeClock(), pictures())
    with camera_of(device) as camera:
        for _ in range(4):
            device.step()
        before = newest(camera)
        device.lose("unplugged")
        for _ in range(3):
            device.step()
            assert camera.waiting() is None
        device.come_back()
        after = None
        while after is None:
            assert camera.waiting() is None
            device.step()
            after = newest(camera)
        assert after.index == before.index + 1
        assert after.time_s == device.given[-1]
        assert after.time_s - before.time_s < PROMPT.lost_s


def test_the_rate_is_that_of_the_pictures_that_come_now() -> None:
    device = FakeDevice(FakeClock(), pictures())
    with camera_of(device) as camera:
        for _ in range(50):
            device.step()
        device.lose("unplugged")
        assert waits(camera, device, 200) is not None
        device.come_back()
        for _ in range(60):
            device.step()
        assert camera.measured_fps == pytest.approx(10.0)


def test_ended_while_it_waits() -> None:
    device = FakeDevice(FakeClock(), pictures())
    camera = Camera(0, device.clock, opener=device.opener, patience=Patience(again_s=60.0, let_go_s=5.0))
    camera.start()
    device.begin()
    for _ in range(4):
        device.step()
    assert newest(camera) is not None
    device.lose("broken")
    device.free()  # it rests a minute before it opens the camera anew
    reader: list[Any] = []
    reading = threading.Thread(target=lambda: reader.append(camera.read()))
    reading.start()
    assert camera.close()
    reading.join(5.0)
    assert reader == [None]
    assert camera.waiting() is None


@pytest.mark.parametrize("loss", ["unplugged", "silent", "broken"])
def test_a_camera_that_never_gave_a_picture_is_an_error(loss: Loss) -> None:
    device = FakeDevice(FakeClock(), pictures())
    device.lose(loss)
    with camera_of(device) as camera:
        device.free()
        with pytest.raises(CameraError):
            camera.read()
        assert camera.waiting() is None
        assert camera.ready(0.0)
