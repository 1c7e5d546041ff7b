"""A camera that does all that cameras do wrong, in front of its own class and in front of practice.

The class: pictures that are new, the same, missing, torn, black or of another size, a driver that raises, a clock that
stands and jumps (it is a monotonic one, so it never goes back). Practice: frames that are lost, doubled, late or the last ones.
"""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path
from typing import Any, Iterator

import numpy as np

from tests.bench.campaign.checks import record_faults, spoken_faults
from tests.bench.campaign.forked import Child, told
from tests.bench.campaign.practising import QuickStage, session_seen
from tests.support.practice_stage import PICTURE, Watches
from trainer.app.practice.practice import Machine
from trainer.commands.cli import _guarded
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.observation import Frame, Observation
from trainer.errors import CameraError
from trainer.testing.fakes import FakeClock, ListSource
from trainer.vision.sources.base import Source
from trainer.vision.sources.camera import Camera

PICTURES, STROKES = 400, 4
SAID = ("unplugged", "frozen", "stopped working", "gives no picture", "has given no picture")


class _Driver:
    """A capture that gives what it likes; after its last picture nothing more."""

    def __init__(self, rng: random.Random, clock: FakeClock) -> None:
        self._rng, self._clock = rng, clock
        self._noise = np.random.default_rng(rng.randrange(1 << 30))
        self._last = self._new()
        self._left = PICTURES

    def _new(self, width: int = 64, height: int = 48) -> Any:
        return self._noise.integers(0, 256, (height, width, 3), dtype=np.uint8)

    def isOpened(self) -> bool:
        return True

    def get(self, what: int) -> float:
        return self._rng.choice([0.0, float("nan"), 30.0, -1.0, 1e300])

    def set(self, what: int, value: float) -> bool:
        return self._rng.random() < 0.5

    def release(self) -> None:
        return

    def read(self) -> tuple[bool, Any]:
        rng = self._rng
        self._left -= 1
        self._clock.advance(rng.choice([1 / 30, 1 / 30, 1 / 30, 0.0, 0.1, 1 / 60]))
        if self._left < 0:
            self._clock.advance(0.5)
            return False, None
        way = rng.random()
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
            return False, None
        elif way < 0.902:
            raise RuntimeError("the driver broke")
        return True, self._last


def _class(rng: random.Random) -> Iterator[str]:
    clock = FakeClock()
    camera = Camera(0, clock, opener=lambda address: _Driver(rng, clock), first_picture_s=20.0)
    camera.start()
    before, losses = -1e9, []
    try:
        for _ in range(4 * PICTURES):
            frame = camera.read()
            if frame is None:
                break
            if frame.time_s <= before and clock.now() > 0:
                yield f"time went from {before} to {frame.time_s}"
            before = frame.time_s
            camera.notices()
    except CameraError as error:
        losses.append(str(error))
    if not losses:
        yield "its end was not told"
    elif not any(words in losses[0] for words in SAID):
        yield f"said {losses[0]!r}"
    camera.close()


class _AsFramed(Watches):
    """What is seen is seen at the frame's own time."""

    def look(self, frame: Frame, found: Any) -> Observation:
        return replace(super().look(frame, found), time_s=frame.time_s)


class _Harmed(QuickStage):
    """Practice before a camera whose frames are lost, doubled, late and come to a sudden end."""

    rng = random.Random(0)

    @property
    def machine(self) -> Machine:
        return Machine(self._devices, self._source, lambda settings: _AsFramed(self.seen), cautions_s=0.0)

    def _source(
        self, settings: Any, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        rng, frames, late_s = self.rng, [], 0.0
        for seen in self.seen:
            if rng.random() < 0.02:
                continue
            if rng.random() < 0.002:
                late_s += rng.choice([0.1, 2.0, 10.0])
            size = rng.choice([(480, 640), (480, 640), (480, 640), (240, 320)]) if rng.random() < 0.01 else (480, 640)
            picture = PICTURE if size == (480, 640) else np.zeros((*size, 3), np.uint8)
            frames.append(Frame(seen.index, seen.time_s + late_s, picture))
            if rng.random() < 0.01:
                frames.append(replace(frames[-1], time_s=frames[-1].time_s + 0.001))
        end = rng.randrange(len(frames) // 2, len(frames))
        lost = CameraError(
            "has given no picture for 3 s: unplugged or frozen", "camera 0", "plug it in, then start again"
        )
        source = ListSource(frames[:end], lost, "camera 0")
        source.live = True
        return source


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
    yield from spoken_faults(child.code, child.err, (2,))
    if child.err.count("has given no picture") != 1:
        yield f"the loss was told {child.err.count('has given no picture')} times"
    yield from record_faults(folder, told(child.out))
    child.close()


def one_round(seed: int, folder: Path) -> list[str]:
    """Five cameras, and one practice."""
    rng = random.Random(seed)
    found = [f"class: {fault}" for _ in range(5) for fault in _class(rng)]
    return found + [f"practice: {fault}" for fault in _practice(rng, folder)]
