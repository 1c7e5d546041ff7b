"""The same strokes however they come: frame by frame, in bursts, with pauses, from the record, or in the mirror."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.signal_rows import samples_of
from tests.support.student import draw
from tests.support.truth import read_truth
from trainer.coaching.faults import verdict
from trainer.coaching.live_judge import LiveJudge
from trainer.domain.observation import Frame, Observation
from trainer.domain.record import EVENT_NAMES, EventName, StrokeRecord
from trainer.live.loop import LiveLoop
from trainer.live.pipeline import Finished, Pipeline, StepResult
from trainer.live.pipeline_session import PipelineSession
from trainer.live.ports import Devices
from trainer.settings.limits import Limits
from trainer.store.signals import pack, unpack
from trainer.stroke.tracker import Tracker
from trainer.testing.fakes import FakeCamera, FakeClock, FakeDisplay, FakeReporter, FakeTonePlayer, bursts
from trainer.testing.simulate import Scene, SimStroke
from trainer.testing.simulate_moves import SimWaggle
from trainer.testing.simulate_observations import Noise, observations


class Remembered:
    """A watcher that says of each frame what was seen in it before."""

    def __init__(self, seen: list[Observation]) -> None:
        self._seen = {s.index: s for s in seen}

    def find_body(self, frame: Frame) -> Any:
        return None

    def look(self, frame: Frame, found: Any) -> Observation:
        return self._seen[frame.index]


class Recording:
    """A pipeline that keeps what every step gave."""

    def __init__(self, seen: list[Observation]) -> None:
        limits = Limits()
        self._pipeline = Pipeline(
            Remembered(seen), Tracker(), LiveJudge(limits), lambda record: verdict(record, limits)
        )  # fmt: skip
        self.said: list[str] = []
        self.strokes: list[str] = []

    def find_body(self, frame: Frame) -> Any:
        return self._pipeline.find_body(frame)

    def step(self, frame: Frame, found: Any) -> StepResult:
        step = self._pipeline.step(frame, found)
        self.said.append(repr((step.moment.time_s, step.moment.phase, dict(step.moment.events), step.cue)))
        self._keep(step.finished)
        return step

    def finish(self) -> Finished | None:
        last = self._pipeline.finish()
        self._keep(last)
        return last

    def _keep(self, done: Finished | None) -> None:
        if done is not None:
            self.strokes.append(
                repr((dict(done.record.events), dict(done.record.measures), done.verdict.faults, done.cues))
            )


def paused(frames: list[Frame], every: int, for_s: float) -> list[float]:
    """Arrival times of frames that are held up for a while now and then, and then come all at once."""
    late = [
        frames[i - i % every + every - 1 if i - i % every + every <= len(frames) else -1].time_s
        for i in range(len(frames))
    ]
    return [
        max(t + for_s, f.time_s) if (i // every) % 3 == 1 else f.time_s for i, (t, f) in enumerate(zip(late, frames))
    ]


def test_frame_by_frame_in_bursts_and_with_pauses() -> None:
    strokes = (SimStroke(2.5, look_s=4.9, back_at_s=6.2), SimStroke(8.5, look_s=9.75, stall_deg=18.0))
    scene = Scene(strokes, 12.0, waggles=(SimWaggle(0.9),))
    seen = observations(scene, 30.0, Noise(), np.random.default_rng(1))
    frames = [Frame(s.index, s.time_s, np.zeros((4, 4, 3), np.uint8)) for s in seen]
    plain = Recording(seen)
    for frame in frames:
        plain.step(frame, None)
    plain.finish()
    assert len(plain.strokes) == 2
    rising = list(np.maximum.accumulate(paused(frames, 20, 0.4)))
    for arrivals in ([f.time_s for f in frames], bursts(frames, 12), rising):
        clock, other = FakeClock(), Recording(seen)
        camera = FakeCamera(frames, arrivals, clock)
        devices = Devices(FakeDisplay(clock.now), FakeTonePlayer(clock.now), FakeReporter())
        loop = LiveLoop(camera, lambda: PipelineSession(other), devices, clock)  # noqa: B023
        loop.run()
        assert other.said == plain.said
        assert other.strokes == plain.strokes


def live_and_record(frames: list[Observation]) -> list[tuple[dict[EventName, float], StrokeRecord]]:
    """Each stroke's events as told live, and its record."""
    tracker, out = Tracker(), []
    events: dict[EventName, float] = {}
    for frame in frames:
        moment = tracker.update(frame)
        if moment.closed is not None:
            out.append((events, moment.closed))
        events = dict(moment.events)
    last = tracker.finish()
    return [*out, (events, last)] if last is not None else out


@pytest.mark.parametrize("number", range(12))
def test_a_stored_record_gives_the_live_events_again(number: int) -> None:
    """To the last bit, from the packed signals alone, whatever came before the stroke."""
    _, frames, _ = draw(number, (15.0, 30.0, 60.0)[number % 3])
    strokes = live_and_record(frames)
    assert strokes
    for live, record in strokes:
        kept = unpack(pack(record.signals), "test")
        tracker, closed, events = Tracker(), None, {}
        for index, time_s, row in samples_of(kept):
            moment = tracker.update_row(index, time_s, row, kept.frame)
            closed = moment.closed or closed
            events = dict(moment.events) or events
        closed = closed or tracker.finish()
        assert closed is not None
        assert {n: events[n] for n in live} == live
        assert closed.events == record.events
        assert closed.kind == record.kind
        assert closed.measures == record.measures


@pytest.mark.slow
def test_a_mirrored_clip_with_the_other_hand_gives_the_same(clips: Path, tmp_path: Path) -> None:
    """The whole pipeline from the pictures on. What remains is the rounding of pixels where the putter is found."""
    import cv2

    from trainer.app.build import observer, pipeline
    from trainer.settings.load import from_options, load
    from trainer.vision.sources.clip import Clip

    name = "T11_60fps_good"
    truth = read_truth(clips / f"{name}.json")
    records = []
    for hand in ("right", "left"):
        settings = load([from_options(player__handedness=hand, camera__view=truth.view)])
        sees = observer(settings)
        pipe, closed = pipeline(settings, sees), None
        for frame in Clip(clips / f"{name}.mp4"):
            image = frame.image if hand == "right" else np.ascontiguousarray(cv2.flip(frame.image, 1))
            seen = replace(frame, image=image)
            step = pipe.step(seen, pipe.find_body(seen))
            closed = step.finished or closed
        closed = closed or pipe.finish()
        sees.close()
        assert closed is not None
        records.append(closed.record)
    one, other = records
    assert one.kind == other.kind
    for event in EVENT_NAMES:
        at, found = one.events.named(event), other.events.named(event)
        assert (at is None) == (found is None), event
        if at is not None and found is not None:
            assert found == pytest.approx(at, abs=0.002), event
    near = {
        "back_cm": 0.1,
        "through_cm": 0.1,
        "recoil_cm": 0.1,
        "sway_cm": 0.05,
        "lift_cm": 0.05,
        "hinge_change_deg": 0.2,
    }
    for measure, within in {**near, "tempo_ratio": 0.01, "hold_s": 0.002}.items():
        a, b = one.measures[measure].value, other.measures[measure].value
        assert a is not None, measure
        assert b == pytest.approx(a, abs=within), measure
