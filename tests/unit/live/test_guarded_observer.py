"""A fault of ours in one frame: that frame is not seen, said once, the stroke not sure; many in a row end it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from trainer.app import build
from trainer.coaching.faults import judge
from trainer.domain.observation import Frame, Observation
from trainer.domain.player_frame import PlayerFrame
from trainer.errors import CameraError
from trainer.live.advice import AdviceTeller
from trainer.live.guarded_observer import GuardedObserver
from trainer.live.pipeline import Finished
from trainer.live.prefetch import Prefetch
from trainer.settings.load import load
from trainer.testing.fakes import FakeClock, ListSource
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_observations import observations

SEEN = observations(Scene((SimStroke(2.0, look_s=3.0),)))


class Broken:
    """Sees a stroke; fails in these frames, in one half of the work or the other."""

    def __init__(self, at: set[int], in_body: bool = False, error: Exception | None = None) -> None:
        self.at, self.in_body, self.error = at, in_body, error or IndexError("of nothing")

    def _fail(self, frame: Frame, here: bool) -> None:
        if here and frame.index in self.at:
            raise self.error

    def find_body(self, frame: Frame) -> str:
        self._fail(frame, self.in_body)
        return "found"

    def look(self, frame: Frame, found: Any) -> Observation:
        assert found == "found"
        self._fail(frame, not self.in_body)
        return replace(SEEN[frame.index], index=frame.index)


def run(observer: GuardedObserver) -> tuple[list[Observation], list[Finished], list[str]]:
    pipeline, teller = build.pipeline(load(), observer), AdviceTeller()
    seen, strokes = [], []
    for k, observation in enumerate(SEEN):
        frame = Frame(k, observation.time_s, np.zeros((4, 4, 3), np.uint8))
        step = pipeline.step(frame, pipeline.find_body(frame))
        teller.see(step.observation, step.moment.phase)
        seen.append(step.observation)
        strokes += [step.finished] if step.finished is not None else []
    last = pipeline.finish()
    return seen, strokes + ([last] if last is not None else []), teller.said


@pytest.mark.parametrize("in_body", [True, False])
def test_a_fault_in_the_stroke_leaves_it_not_sure(in_body: bool) -> None:
    at = {next(k for k, s in enumerate(SEEN) if s.time_s > 2.4)}
    seen, strokes, said = run(GuardedObserver(Broken(at, in_body)))
    assert [k for k, s in enumerate(seen) if s.faulty] == sorted(at)
    assert seen[min(at)].body is None
    (stroke,) = strokes
    assert judge(stroke.record, stroke.verdict.limits) == ()
    assert "early_look" in stroke.verdict.indeterminate
    (line,) = said
    kept = Path(re.search(r"details are in (\S+);", line)[1])  # type: ignore[index]
    assert "IndexError" in kept.read_text()
    kept.unlink()


def test_one_long_before_it_does_no_harm_and_the_second_is_not_told() -> None:
    _, strokes, said = run(GuardedObserver(Broken({0, 3})))
    assert [f.name for f in strokes[0].verdict.faults] == ["early_look"]
    assert len(said) == 1
    Path(re.search(r"details are in (\S+);", said[0])[1]).unlink()  # type: ignore[index]


def test_many_in_a_row_end_it() -> None:
    with pytest.raises(IndexError):
        run(GuardedObserver(Broken(set(range(5, 15))), most_in_a_row=10))
    run(GuardedObserver(Broken(set(range(5, 14))), most_in_a_row=10))


def test_a_frame_that_failed_is_of_the_same_player_and_view() -> None:
    player = PlayerFrame("down-the-line", "left", 640)

    class Behind(Broken):
        def look(self, frame: Frame, found: Any) -> Observation:
            return replace(super().look(frame, found), frame=player)

    observer = GuardedObserver(Behind({1}))
    frames = [Frame(k, k / 30, None) for k in range(2)]
    seen = [observer.look(frame, observer.find_body(frame)) for frame in frames]
    assert seen[1].faulty
    assert seen[1].frame == player
    Path(re.search(r"details are in (\S+);", seen[1].advice[0])[1]).unlink()  # type: ignore[index]


def test_what_a_user_can_mend_is_raised() -> None:
    with pytest.raises(CameraError):
        run(GuardedObserver(Broken({5}, error=CameraError("lost"))))


def test_tests_are_strict() -> None:
    with pytest.raises(IndexError):
        build.guarded(Broken({0})).look(Frame(0, 0.0, None), "found")


class BrokenSteadying:
    """Fails in these frames; one made after another stands for the same camera."""

    def __init__(self, at: set[int]) -> None:
        self.at = at

    def steadied(self, frame: Frame) -> Frame:
        if frame.index in self.at:
            raise ZeroDivisionError("of a shift")
        return frame


def test_a_fault_in_holding_pictures_still_is_one_of_its_frame() -> None:
    at, made = {20, 21, 50}, []
    source = ListSource([Frame(k, s.time_s, np.zeros((4, 4, 3), np.uint8)) for k, s in enumerate(SEEN)])
    pipeline, teller = build.pipeline(load(), GuardedObserver(Broken(set()))), AdviceTeller()

    def steady() -> BrokenSteadying:
        made.append(BrokenSteadying(at))
        return made[-1]

    faulty = []
    with Prefetch(source, pipeline.find_body, FakeClock(), steady=steady) as ahead:
        for frame, body, _ in ahead:
            step = pipeline.step(frame, body)
            teller.see(step.observation, step.moment.phase)
            faulty += [frame.index] if step.observation.faulty else []
    assert faulty == sorted(at)
    assert len(made) == 1 + len(at)  # each fault costs what was known of the camera's motion
    (line,) = teller.said
    kept = Path(re.search(r"details are in (\S+);", line)[1])  # type: ignore[index]
    assert "of a shift" in kept.read_text()
    kept.unlink()
