"""A rendered clip through the real pipeline: frame by frame, paced like a camera, in bursts with a window that hangs.

However the frames come, observations, phases, events, measures, faults and cues are the same to the last bit.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Callable

import pytest

from trainer.app import build
from trainer.live.loop import LiveLoop
from trainer.live.pipeline import Finished, Pipeline, StepResult
from trainer.live.pipeline_session import PipelineSession
from trainer.live.ports import Devices
from trainer.settings.load import load
from trainer.testing.fakes import FakeCamera, FakeClock, FakeDisplay, FakeReporter, FakeTonePlayer, bursts
from trainer.vision.sources.base import Source
from trainer.vision.sources.clip import Clip

CLIP = "T03_hand_stall.mp4"


class Recording:
    """A pipeline that keeps what every step gave."""

    def __init__(self) -> None:
        settings = load([])
        self._observer = build.observer(settings)
        self._pipeline: Pipeline = build.pipeline(settings, self._observer)
        self.steps: list[StepResult] = []
        self.finished: list[Finished] = []

    def find_body(self, frame: Any) -> Any:
        return self._pipeline.find_body(frame)

    def step(self, frame: Any, found: Any) -> StepResult:
        step = self._pipeline.step(frame, found)
        self.steps.append(step)
        if step.finished is not None:
            self.finished.append(step.finished)
        return step

    def finish(self) -> Finished | None:
        last = self._pipeline.finish()
        if last is not None:
            self.finished.append(last)
        return last

    def close(self) -> None:
        self._observer.close()

    def outcome(self) -> list[str]:
        """All numbers in full: repr of a float loses nothing."""
        lines = []
        for step in self.steps:
            m, s = step.moment, step.observation
            seen = (s.index, s.time_s, s.head, s.putter, s.ball, s.scale, sorted((s.body or {}).items()))
            said = (m.phase, dict(m.events), m.new_events, m.turn_deg, m.hinge_deg, m.putter_speed_cm_s, m.held_s)
            lines.append(repr((seen, said, step.cue)))
        lines += [
            repr((dict(f.record.events), dict(f.record.measures), f.verdict.faults, f.cues)) for f in self.finished
        ]
        return lines


def live(make_source: Callable[[FakeClock], Source], hang_every: int = 0) -> list[str]:
    """Through the loop with its threads."""
    clock, recording = FakeClock(), Recording()
    shown = [0]

    def show(view: Any) -> None:
        shown[0] += 1
        if hang_every and shown[0] % hang_every == 0:
            clock.advance(0.5)

    devices = Devices(FakeDisplay(clock.now, on_show=show), FakeTonePlayer(clock.now), FakeReporter())
    loop = LiveLoop(make_source(clock), lambda: PipelineSession(recording), devices, clock)
    loop.run()
    recording.close()
    assert [c.name for c in loop.summary.cues] == [s.cue.name for s in recording.steps if s.cue is not None]
    return recording.outcome()


@pytest.mark.slow
def test_the_same_events_however_the_frames_come(clips: Path) -> None:
    path = clips / CLIP
    plain = Recording()
    frames = list(Clip(path))
    for frame in frames:
        plain.step(frame, plain.find_body(frame))
    plain.finish()
    plain.close()
    expected = plain.outcome()
    assert len(plain.finished) == 1  # there is something to compare

    assert live(lambda clock: Clip(path, pace=clock)) == expected
    assert live(lambda clock: FakeCamera(frames, bursts(frames, 12), clock), hang_every=3) == expected
