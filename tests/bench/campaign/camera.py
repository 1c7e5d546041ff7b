"""A camera that does all that cameras do wrong, in front of its own class and in front of practice.

The class: unplugged, frozen, silent and broken, and back; between, pictures that are the same, missing, torn, black or of another
size, reads that take no time or 2 s (the clock is a monotonic one, so it never goes back). Practice: frames that are lost,
doubled, late, and a camera that goes in any phase and comes back.
"""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path
from typing import Any, Iterator, get_args

import numpy as np

from tests.bench.campaign.checks import record_faults, spoken_faults
from tests.bench.campaign.forked import Child, told
from tests.bench.campaign.practising import QuickStage, session_seen
from tests.support.practice_stage import PICTURE, Watches
from trainer.app.practice.practice import Machine
from trainer.commands.cli import _guarded
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.observation import Frame, Observation
from trainer.live.interruption import DROPPED
from trainer.live.linking import TellsLink
from trainer.testing.fake_device import FakeDevice, Loss
from trainer.testing.fakes import FakeClock, FakeReporter, ReturningCamera
from trainer.vision.sources.base import Source
from trainer.vision.sources.camera import Camera, Patience

CAMERAS, LOSSES, STROKES = 5, 20, 4
BACK_S = 2.0
WAITS, COMES = "camera 0: waiting for the camera; ", "camera 0: pictures come"


class _Pictures:
    """Of all kinds; calm: only good ones."""

    def __init__(self, rng: random.Random) -> None:
        self._rng, self._noise = rng, np.random.default_rng(rng.randrange(1 << 30))
        self._last = self._new()
        self.calm = True

    def _new(self, width: int = 64, height: int = 48) -> Any:
        return self._noise.integers(0, 256, (height, width, 3), dtype=np.uint8)

    def __call__(self) -> Any:
        rng, way = self._rng, 0.0 if self.calm else self._rng.random()
        if way < 0.6:
            self._last = self._new()
        elif way < 0.7:
            self._last = self._new(rng.choice([1, 64, 320]), rng.choice([1, 48, 240]))
        elif way < 0.75:
            self._last = np.zeros_like(self._last)
        elif way < 0.8:
            self._last = np.vstack([self._new(*self._last.shape[1::-1])[: len(self._last) // 2], self._last])[
                : len(self._last)
            ]
        elif way < 0.9:
            return None
        return self._last


class _Watched:
    """A camera, stepped and looked at by its user; whatever is wrong with what it gives and says is in ``faults``."""

    def __init__(self, camera: Camera, device: FakeDevice) -> None:
        self._camera, self._device = camera, device
        self._reporter = FakeReporter()
        self._tells = TellsLink([camera], self._reporter)
        self._newest = Frame(-1, device.clock.now(), None)
        self._lines: list[str] = []
        self.faults: list[str] = []

    def step(self) -> Frame | None:
        """The frame that came of it."""
        begun_s, before = self._device.clock.now(), self._newest
        self._device.step()
        frame = self._camera.read() if self._camera.ready(0.0) else None
        now_s = self._device.clock.now()
        if frame is not None:
            self._newest = frame
            if frame.index != before.index + 1 or frame.time_s <= before.time_s:
                self.faults.append(f"from frame {before.index}, {before.time_s} s to {frame.index}, {frame.time_s} s")
            if not begun_s <= frame.time_s <= max(now_s, before.time_s + 0.0011):
                self.faults.append(f"read from {begun_s} to {now_s} s, said {frame.time_s} s")
        waits = self._newest.index >= 0 and now_s - self._newest.time_s > Patience().lost_s
        if self._tells.tell() != waits:
            self.faults.append(f"{now_s - self._newest.time_s:.2f} s without a picture, told: {not waits}")
        if waits and self._lines[-1:] != [WAITS]:
            self._lines.append(WAITS)
        elif not waits and self._lines[-1:] == [WAITS]:
            self._lines.append(COMES)
        return frame

    def end(self) -> None:
        said = [WAITS if line.startswith(WAITS) else line for line in self._reporter.lines]
        if said != self._lines:
            self.faults.append(f"said {len(said)} lines where {len(self._lines)} were due")


def _class(rng: random.Random) -> list[str]:
    clock, pictures = FakeClock(rng.choice([0.0, 1e6])), _Pictures(rng)
    device = FakeDevice(clock, pictures)
    patience = Patience(first_picture_s=20.0, again_s=0.0, empty_s=0.0)
    camera = Camera(0, clock, opener=device.opener, patience=patience)
    camera.start()
    device.begin()
    user = _Watched(camera, device)
    try:
        for _ in range(LOSSES):
            pictures.calm = False
            for _ in range(rng.randrange(2, 40)):
                device.step_s = rng.choice([1 / 30, 1 / 30, 1 / 30, 1 / 60, 0.0, 0.1, rng.choice([0.1, 2.0])])
                user.step()
            pictures.calm, device.step_s = True, 0.1
            device.lose(rng.choice(get_args(Loss)))
            until_s = clock.now() + rng.uniform(0.1, 12.0)
            while clock.now() < until_s:
                user.step()
            device.come_back()
            back_s = clock.now()
            while user.step() is None and clock.now() < back_s + 10 * BACK_S:
                continue
            if clock.now() > back_s + BACK_S:
                user.faults.append(f"back after {clock.now() - back_s:.1f} s")
    finally:
        device.free()
        camera.close()
    user.end()
    return user.faults


class _AsFramed(Watches):
    """What is seen is seen at the frame's own time."""

    def look(self, frame: Frame, found: Any) -> Observation:
        return replace(super().look(frame, found), time_s=frame.time_s)


class _Harmed(QuickStage):
    """Practice before a camera whose frames are lost, doubled and late, and which goes and comes back."""

    rng = random.Random(0)
    losses = 3

    @property
    def machine(self) -> Machine:
        return Machine(self.open_devices, self._source, lambda settings: _AsFramed(self.seen), cautions_s=0.0)

    def _source(
        self, settings: Any, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        rng, frames, late_s = self.rng, [], 0.0
        lost_before = set(rng.sample(range(len(self.seen)), self.losses))
        for seen in self.seen:
            if seen.index in lost_before:
                late_s += rng.uniform(3.0, 20.0)
            elif rng.random() < 0.02:
                continue
            if rng.random() < 0.002:
                late_s += rng.choice([0.1, 2.0])
            size = rng.choice([(480, 640), (480, 640), (480, 640), (240, 320)]) if rng.random() < 0.01 else (480, 640)
            picture = PICTURE if size == (480, 640) else np.zeros((*size, 3), np.uint8)
            frames.append(Frame(seen.index, seen.time_s + late_s, picture))
            if rng.random() < 0.01:
                frames.append(replace(frames[-1], time_s=frames[-1].time_s + 0.001))
        return ReturningCamera(
            frames[: rng.randrange(min(max(lost_before) + 1, len(frames)), len(frames) + 1)], lost_before
        )


def _practice(rng: random.Random, folder: Path) -> Iterator[str]:
    seen = session_seen(rng.randrange(1 << 30), STROKES)

    def work() -> int:
        stage = _Harmed(seen)
        stage.rng = rng
        return _guarded(lambda: practise(folder, PracticeOptions(window=False), stage.machine))

    child = Child(work)
    if not child.wait():
        child.kill()
        yield "did not end"
    yield from spoken_faults(child.code, child.err, (0,))
    said = child.out.splitlines() + child.err.splitlines()
    waits, comes = sum(line.startswith(WAITS) for line in said), said.count(COMES)
    if (waits, comes) != (_Harmed.losses, _Harmed.losses):
        yield f"of {_Harmed.losses} losses {waits} were told, and {comes} returns"
    if said.count(DROPPED) > _Harmed.losses:
        yield f"{said.count(DROPPED)} strokes were dropped"
    yield from record_faults(folder, told(child.out))
    child.close()


def one_round(seed: int, folder: Path) -> list[str]:
    """CAMERAS cameras, each lost LOSSES times, and one practice."""
    rng = random.Random(seed)
    found = [f"class: {fault}" for _ in range(CAMERAS) for fault in _class(rng)]
    return found + [f"practice: {fault}" for fault in _practice(rng, folder)]
