"""A camera that goes while practising: said once, the stroke under way kept or dropped with a line, and practice goes on."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.unit.live.test_loop import STROKE, Run, frames
from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState
from trainer.live.interruption import DROPPED, Interruption
from trainer.live.pipeline import StepResult
from trainer.live.practice_step import PracticeStep
from trainer.testing.fakes import ReturningCamera
from trainer.vision.sources.base import Waiting

GONE = "camera 0: waiting for the camera; no picture for 3 s: check its cable; it goes on by itself"
BACK = "camera 0: pictures come"


def gaps(count: int, *lost_before: int) -> list[Any]:
    """Frames, 10 s later after each loss."""
    late = [10.0 * sum(frame.index >= lost for lost in lost_before) for frame in frames(count)]
    return [replace(frame, time_s=frame.time_s + late_s) for frame, late_s in zip(frames(count), late)]


def told(run: Run) -> list[str]:
    return [line for line in run.said if line in (GONE, BACK, DROPPED) or line.startswith("stroke ")]


def test_the_stroke_under_way_is_kept_and_practice_goes_on() -> None:
    mid = STROKE + 20
    source = ReturningCamera(gaps(3 * STROKE, mid), [mid])
    run = Run(source, visible=False)
    summary = run()
    assert source.losses == 1
    assert summary.frames == 3 * STROKE
    lines = told(run)
    assert sorted(lines[1:3]) == [GONE, "stroke 2"]  # by two threads
    assert lines == ["stroke 1", *lines[1:3], BACK, "stroke 3"]


def test_between_strokes_nothing_is_dropped_or_told_twice() -> None:
    source = ReturningCamera(gaps(2 * STROKE, STROKE + 2, STROKE + 4), [STROKE + 2, STROKE + 4])
    run = Run(source, visible=False)
    run()
    assert source.losses == 2
    assert told(run) == ["stroke 1", GONE, BACK, GONE, BACK, "stroke 2"]


def test_the_window_shows_it_and_hears_keys_meanwhile() -> None:
    source = ReturningCamera(gaps(60, 20), [20], stays_away=True)
    run = Run(source, on_show=lambda view: run.display.give("quit") if view is ReturningCamera.WAITING else None)
    summary = run()
    assert summary.frames in (19, 20)  # by two threads: the last may still be looked at as the key comes
    assert [finished.number for finished in summary.strokes] == [1]  # it was under way
    assert any(view is ReturningCamera.WAITING for _, view in run.display.shown)
    assert told(run).count(GONE) == 1
    assert BACK not in run.said


def test_control_c_while_it_waits_keeps_all() -> None:
    def interrupted(view: Any) -> None:
        if view is ReturningCamera.WAITING:
            raise KeyboardInterrupt

    source = ReturningCamera(gaps(60, 22), [22], stays_away=True)  # 20 frames would do, but for those not looked at yet
    run = Run(source, on_show=interrupted)
    assert [finished.number for finished in run().strokes] == [1]
    assert source.closed


class Waits(ReturningCamera):
    """Always."""

    def __init__(self) -> None:
        super().__init__([], [])

    def waiting(self) -> Waiting | None:
        return self.WAITING


class Ends:
    """A session that has nothing to keep."""

    def __init__(self) -> None:
        self.ends = 0

    def finish(self) -> PracticeStep | None:
        self.ends += 1
        return None


@pytest.mark.parametrize(("under_way", "said"), [(True, [DROPPED]), (False, [])])
def test_what_does_not_count_is_dropped_with_one_line(under_way: bool, said: list[str]) -> None:
    session, lines = Ends(), []
    broken = Interruption(Waits(), session, lambda step: lines.extend(step.messages))  # type: ignore[arg-type]
    moment = LiveState(0.0, Phase.BACKSTROKE if under_way else Phase.ADDRESS, Events(), ())
    step = PracticeStep(StepResult(Observation(0, 0.0), moment, None, None))
    broken.see(step)
    broken.look()
    broken.look()
    assert lines == said
    assert session.ends == len(said)
