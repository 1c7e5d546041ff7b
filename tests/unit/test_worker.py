"""Every thread of the trainer: what goes wrong in it is raised where its owner looks, and nobody waits for it in vain."""

from __future__ import annotations

import os
import re
import sys
import threading
import time
from pathlib import Path
from typing import Any, Callable, Iterator

import cv2
import numpy as np
import pytest

from tests.support.burnt import picture, write
from tests.support.paths import ROOT
from trainer.coaching.live_judge import LiveJudge
from trainer.coaching.verdict import Verdict
from trainer.domain.observation import Frame, Observation
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.loop import LiveLoop
from trainer.live.pipeline import Pipeline
from trainer.live.pipeline_session import PipelineSession
from trainer.live.ports import Devices
from trainer.live.prefetch import Prefetch
from trainer.live.second_camera import SecondCamera
from trainer.replay.clip_frames import ClipFrames
from trainer.replay.clip_reader import Reader
from trainer.replay.frames import MemoryFrames
from trainer.replay.retention import VideoKeeper
from trainer.replay.ring import FrameRing
from trainer.settings.limits import Limits
from trainer.store.video import StrokeKey
from trainer.stroke.tracker import Tracker
from trainer.testing.fakes import FakeClock, FakeDisplay, FakeReporter, FakeTonePlayer, ListSource
from trainer.vision.sources.camera import Camera
from trainer.worker import WAY_GIVEN, Worker

SOON_S = 2.0
Owner = Callable[[Path], None]


class Broken(Exception):
    """What is raised in the threads."""


def broken(*_: Any) -> Any:
    raise Broken("in the thread")


def frame(index: int = 0) -> Frame:
    return Frame(index, index / 30.0, picture(index, 320, 240))


def unencodable(index: int = 0) -> Frame:
    return Frame(index, index / 30.0, np.zeros((4, 4, 9), np.uint8))


# ---- its own


def test_it_ends_when_told_and_is_waited_for() -> None:
    seen: list[bool] = []
    ended = threading.Event()
    worker = Worker("it", lambda stop: seen.append(stop.wait(10.0)), ended.set)
    assert not worker.started
    assert worker.join(0.0)  # never started: nothing to wait for
    worker.start()
    assert not worker.join(0.01)
    assert not worker.ended
    worker.stop()
    assert worker.join(10.0)
    assert worker.ended
    assert seen == [True]
    assert ended.is_set()
    with pytest.raises(RuntimeError):
        worker.start()


def test_what_its_body_raises_is_there_before_anybody_is_woken() -> None:
    failures: list[BaseException | None] = []
    worker = Worker("it", broken, lambda: failures.append(worker.failure))
    worker.start()
    with pytest.raises(Broken):
        worker.join(10.0)
    assert worker.wait(0.0)
    assert isinstance(failures[0], Broken)


# ---- its owners


def of_the_camera(folder: Path) -> None:
    camera = Camera(0, FakeClock(), opener=broken)
    with camera:
        camera.read()


def of_the_prefetch(folder: Path) -> None:
    with Prefetch(ListSource([frame(0), frame(1)]), broken, FakeClock()) as ahead:
        list(ahead)


def of_the_ring(folder: Path) -> None:
    ring = FrameRing(5.0)
    ring.start()
    ring.add(unencodable())
    try:
        ring.settled()
    finally:
        with pytest.raises(Exception, match="imencode"):
            ring.close()


def of_the_ring_that_is_added_to(folder: Path) -> None:
    ring = FrameRing(5.0)
    ring.start()
    while True:
        ring.add(unencodable())


def of_the_videos(folder: Path) -> None:
    keeper = VideoKeeper(folder, lambda line: None, broken)
    keeper.start()
    jpeg = cv2.imencode(".jpg", picture(1, 320, 240))[1].tobytes()
    assert keeper.put(StrokeKey(1, "0" * 32, ""), MemoryFrames([jpeg], [0.0]))
    keeper.close()


class Scripted(Reader):
    """broken_at: the frame whose decoding fails; odd_at: the one whose picture cannot be compressed."""

    def __init__(self, path: Path, broken_at: int | None = None, odd_at: int | None = None) -> None:
        super().__init__(path)
        self._broken_at, self._odd_at = broken_at, odd_at

    def picture(self) -> Any:
        if self.position - 1 == self._broken_at:
            raise Broken("in the thread")
        return np.zeros((4, 4, 9), np.uint8) if self.position - 1 == self._odd_at else super().picture()


def of_a_clips_decoder(folder: Path) -> None:
    path = write(folder / "a.mp4", 30, 10)
    ClipFrames(path, reader=Scripted(path, broken_at=0)).start()


def of_a_clips_decoder_later(folder: Path) -> None:
    path = write(folder / "a.mp4", 30, 10)
    frames = ClipFrames(path, reader=Scripted(path, broken_at=5)).start()
    try:
        frames.frame(5)
    finally:
        with pytest.raises(Broken):
            frames.close()


def of_a_clips_compressor(folder: Path) -> None:
    path = write(folder / "a.mp4", 30, 10)
    frames = ClipFrames(path, reader=Scripted(path, odd_at=3)).start()
    try:
        while True:
            frames.frame(0)
    finally:
        with pytest.raises(Exception, match="imencode"):
            frames.close()


def of_the_loop(folder: Path) -> None:
    clock = FakeClock()
    devices = Devices(FakeDisplay(clock.now), FakeTonePlayer(clock.now), FakeReporter())
    LiveLoop(ListSource([frame(0)]), broken, devices, clock).run()


def of_the_ring_while_practising(folder: Path) -> None:
    """A picture that cannot be compressed ends the run: its replay would never come, and nobody would know why."""
    clock = FakeClock()
    devices = Devices(FakeDisplay(clock.now), FakeTonePlayer(clock.now), FakeReporter())
    session = PipelineSession(Pipeline(Blind(), Tracker(), LiveJudge(Limits()), lambda record: Verdict()))
    replay = LiveReplay(ReplayConfig(), clock)
    LiveLoop(ListSource([unencodable(i) for i in range(60)]), lambda: session, devices, clock, replay=replay).run()


def of_the_second_camera(folder: Path) -> None:
    second = SecondCamera(ListSource([frame(0)]), broken, FakeClock(), FakeReporter())
    second.start()
    assert second.wait(10.0)
    second.stop()


class Blind:
    """Observes nothing."""

    def find_body(self, frame: Frame) -> None:
        return None

    def look(self, frame: Frame, found: Any) -> Observation:
        return Observation(frame.index, frame.time_s)


OWNERS: dict[str, Owner] = {
    name.removeprefix("of_"): owner for name, owner in list(globals().items()) if name.startswith("of_")
}


@pytest.fixture(autouse=True)
def no_thread_is_left() -> Iterator[None]:
    before = set(threading.enumerate())
    yield
    deadline = time.monotonic() + 5.0
    for thread in set(threading.enumerate()) - before:
        thread.join(max(0.0, deadline - time.monotonic()))
    assert not set(threading.enumerate()) - before


@pytest.mark.parametrize("owner", OWNERS.values(), ids=OWNERS)
def test_a_worker_whose_body_raises_is_heard_of(owner: Owner, tmp_path: Path) -> None:
    begun = time.monotonic()
    with pytest.raises(Exception, match=r"in the thread|imencode"):
        owner(tmp_path)
    assert time.monotonic() - begun < SOON_S


def test_no_thread_is_made_but_by_a_worker() -> None:
    made = [
        path.relative_to(ROOT).as_posix()
        for path in sorted((ROOT / "trainer").rglob("*.py"))
        if re.search(r"\bThread\(|ThreadPoolExecutor|_thread\b.start_new", path.read_text(encoding="utf-8"))
    ]
    assert made == ["trainer/worker.py"]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux has threads' own priorities")
def test_one_that_gives_way_has_less_weight_and_others_as_before() -> None:
    found: list[int] = []
    for gives_way in (True, False):
        worker = Worker(
            "w",
            lambda stop: found.append(os.getpriority(os.PRIO_PROCESS, threading.get_native_id())),
            gives_way=gives_way,
        )
        worker.start()
        assert worker.join(10.0)
    own = os.getpriority(os.PRIO_PROCESS, 0)
    assert found == [max(own, WAY_GIVEN), own]
