"""A long run of practice, all but camera, model, loudspeaker and screen: what stays of a stroke once it was told is little."""

from __future__ import annotations

import gc
import tracemalloc
from pathlib import Path
from typing import Any, Iterator

import numpy as np
import pytest

from tests.support.practice_stage import FPS, WatchesAgain, stroke
from trainer.app.context import load_context
from trainer.app.practice.drill_sequence import drill_sequence
from trainer.app.practice.practice_session import PracticePlan, PracticeSession
from trainer.domain.observation import Frame
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.loop import LiveLoop
from trainer.live.ports import Devices
from trainer.live.practice_step import PracticeStep
from trainer.store.store import Store
from trainer.testing.fakes import FakeClock, FakeDisplay, FakeReporter, FakeTonePlayer, ListSource

WARM, COUNTED = 3, 6  # strokes: until all that is kept once is there; over which it is looked at
# One's measures, verdict and cues are 6 kB; with an array for each column, though empty, it would be 20; with its signals 65.
MOST_BYTES = 10_000
RING_MB = 0.3  # full after two strokes
PICTURE = np.full((48, 64, 3), 70, np.uint8)


class Weighed(PracticeSession):
    """weights: bytes of Python's and numpy's objects at the end of each stroke, less the replay's pictures."""

    def weigh(self, replay: LiveReplay) -> None:
        self.weights: list[int] = []
        self._replay = replay

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        step = super().step(frame, body)
        if step.finished is not None:
            self._replay.ring.settled()
            gc.collect()
            self.weights.append(tracemalloc.get_traced_memory()[0] - self._replay.ring.bytes)
        return step


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with load_context(tmp_path).open_store() as opened:
        yield opened


def test_little_stays_of_a_stroke(tmp_path: Path, store: Store) -> None:
    seen, clock = stroke(1.3), FakeClock()
    count = (WARM + COUNTED) * len(seen)
    source = ListSource(Frame(i, i / FPS, PICTURE) for i in range(count))
    context = load_context(tmp_path)
    session = Weighed(PracticePlan(context, "made up", drill_sequence(context), None), store)
    replay = LiveReplay(ReplayConfig("loop", ring_mb=RING_MB), clock)
    session.weigh(replay)
    tones, reporter = FakeTonePlayer(clock.now), FakeReporter()
    display = FakeDisplay(clock.now, on_show=lambda _: forget())

    def forget() -> None:
        """What the stand-ins keep is no part of the trainer."""
        for kept in (display.shown, tones.played, reporter.lines, clock.naps):
            kept.clear()

    loop = LiveLoop(
        source, lambda: session.start(WatchesAgain(seen)), Devices(display, tones, reporter), clock, replay=replay
    )
    tracemalloc.start()
    try:
        loop.run()
    finally:
        tracemalloc.stop()
    assert len(session.weights) == WARM + COUNTED == len(loop.summary.strokes)
    grown = (session.weights[-1] - session.weights[WARM - 1]) / COUNTED
    assert grown < MOST_BYTES, session.weights
