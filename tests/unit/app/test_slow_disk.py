"""A disk that takes half a second for every stroke: what comes from the camera meanwhile, the cues and the strokes after it."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Sequence

import pytest

from tests.support.practice_stage import FPS, PICTURE, Watches, joined, stroke
from trainer.app.context import load_context
from trainer.app.practice.drill_sequence import drill_sequence
from trainer.app.practice.practice_session import PracticePlan, PracticeSession
from trainer.domain.observation import Frame, Observation
from trainer.live.practice_step import PracticeStep
from trainer.live.prefetch import run_in_turn
from trainer.store.store import Store
from trainer.testing.fakes import FakeClock, ListSource
from trainer.vision.sources.backlog import Backlog

WRITE_S = 0.5


class SlowStore(Store):
    """Each commit of a stroke takes a while of the clock."""

    def __init__(self, folder: Path, clock: FakeClock, takes_s: float) -> None:
        super().__init__(folder, "t")
        self._clock, self._takes_s = clock, takes_s

    def keep(self, *arguments: Any, **more: Any) -> int:
        self._clock.sleep(self._takes_s)
        return super().keep(*arguments, **more)


class Going(ListSource):
    """A camera that goes on by the clock whether its frames are taken or not."""

    def __init__(self, frames: list[Frame], clock: FakeClock) -> None:
        super().__init__(frames)
        self._to_come, self._clock, self._backlog = frames, clock, Backlog()
        self.lost = 0

    def read(self) -> Frame | None:
        while (frame := self._come()) is None and self._to_come:
            self._clock.sleep(1 / FPS)
        return frame

    def _come(self) -> Frame | None:
        while self._to_come and self._to_come[0].time_s <= self._clock.now():
            self.lost += self._backlog.put(self._to_come.pop(0))
        return self._backlog.take()


def practised(
    folder: Path, seen: Sequence[Observation], takes_s: float
) -> tuple[list[tuple[PracticeStep, float]], int]:
    """(each step with how late it was after its frame, frames lost)."""
    clock = FakeClock()
    source = Going([Frame(s.index, s.time_s, PICTURE) for s in seen], clock)
    context = load_context(folder)
    with SlowStore(folder, clock, takes_s) as store:
        plan = PracticePlan(context, "made up", drill_sequence(context), None)
        session = PracticeSession(plan, store).start(Watches(seen))
        given = [(step, clock.now() - frame.time_s) for frame, step, _ in run_in_turn(source, session, clock)]
    return given, source.lost


def test_a_slow_disk_costs_neither_a_stroke_nor_a_cue_its_time(tmp_path: Path) -> None:
    seen = joined(stroke(1.3), stroke(-0.3), stroke(1.3))
    quick, lost = practised(tmp_path / "quick", seen, 0.0)
    slow, lost_slow = practised(tmp_path / "slow", seen, WRITE_S)
    assert lost == 0
    assert 0 < lost_slow <= 3 * WRITE_S * FPS  # while strokes that are over are written
    for given in (quick, slow):
        cues = [(step.sound, late_s) for step, late_s in given if step.sound is not None]
        assert [name for name, _ in cues] == ["hold_done", "early_look", "hold_done"]
        assert max(late_s for _, late_s in cues) == pytest.approx(0.0, abs=1 / FPS)
    finished = [[step.finished for step, _ in given if step.finished is not None] for given in (quick, slow)]
    assert len(finished[0]) == len(finished[1]) == 3
    for one, other in zip(*finished, strict=True):
        assert one.record.measures == other.record.measures
        assert [c.name for c in one.cues] == [c.name for c in other.cues]
