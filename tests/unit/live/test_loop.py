"""The live loop with fakes and an injected clock: threads, failures, pause, and the same events however frames come."""

from __future__ import annotations

import statistics
import threading
from dataclasses import dataclass, field, replace
from typing import Any, Callable, Iterable

import numpy as np
import pytest

from trainer.coaching.verdict import Verdict
from trainer.domain.observation import Frame, Observation
from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState, Measure, Signals, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.errors import CameraError, StoreError
from trainer.feedback.cues import READY, CueChooser
from trainer.feedback.schedule import NOTHING, FeedbackLevel
from trainer.feedback.tones import SilentPlayer
from trainer.languages import LANGUAGES
from trainer.live.display_types import Targets
from trainer.live.loop import ANSWER_S, LiveLoop, LoopOptions
from trainer.live.pipeline import Finished, Pipeline, StepResult
from trainer.live.pipeline_session import PipelineSession
from trainer.live.ports import Devices
from trainer.live.practice_state import DisplayState, DisplayStateBuilder
from trainer.live.practice_step import PracticeStep
from trainer.live.prefetch import AHEAD, Prefetch
from trainer.live.queues import BoundedQueue, LatestValue
from trainer.live.summary import Summary
from trainer.testing.fakes import FakeCamera, FakeClock, FakeDisplay, FakeReporter, FakeTonePlayer, ListSource, bursts
from trainer.texts import in_language
from trainer.vision.sources.base import Source, too_slow
from trainer.worker import Worker

FPS = 30.0
STROKE = 30  # frames from one takeaway to the next in what follows


def frames(count: int) -> list[Frame]:
    return [Frame(i, i / FPS, np.full((4, 6, 3), i % 256, np.uint8)) for i in range(count)]


def record(number: int) -> StrokeRecord:
    signals = Signals(np.array([0.0]), np.array([0]), {"head_turn_deg": np.array([1.0])})
    return StrokeRecord("ball", Events(), {"hold_s": Measure(float(number), "s", 1.0)}, signals)


class Watcher:
    """Sees the frame's number in the picture, and who found it."""

    def __init__(self, fail_at: int | None = None) -> None:
        self.found: list[int] = []
        self.threads: set[int] = set()
        self.fail_at = fail_at

    def find_body(self, frame: Frame) -> int:
        self.threads.add(threading.get_ident())
        if frame.index == self.fail_at:
            raise RuntimeError("the model broke")
        self.found.append(frame.index)
        return int(frame.image[0, 0, 0])

    def look(self, frame: Frame, found: int) -> Observation:
        assert found == frame.index % 256  # a frame and what was found in it stay together
        return Observation(frame.index, frame.time_s)


class Tracker:
    """A stroke every STROKE frames: takeaway, hold, closed. Like the real one it knows observations only, no clock."""

    def __init__(self) -> None:
        self.begun = False
        self.count = 0

    def update(self, observation: Observation) -> LiveState:
        part = observation.index % STROKE
        phase: Phase = (
            Phase.ADDRESS if part < 5 else Phase.FORWARD if part < 12 else Phase.HOLD if part < 25 else Phase.LOOKED
        )
        new, closed = (), None
        if part == 5:
            self.begun, new = True, ("takeaway_s",)
        if part == 25 and self.begun:
            self.begun = False
            self.count += 1
            closed = record(self.count)
        held = (part - 12) / FPS if phase == Phase.HOLD else None
        return LiveState(observation.time_s, phase, Events(), new, held_s=held, closed=closed)  # type: ignore[arg-type]

    def finish(self) -> StrokeRecord | None:
        if not self.begun:
            return None
        self.begun = False
        self.count += 1
        return record(self.count)


class LiveJudge:
    """Odd strokes hand_stall then early_look, even ones the chime."""

    def __init__(self) -> None:
        self.strokes = 0
        self.at = 0

    def update(self, moment: LiveState) -> Cue | None:
        if "takeaway_s" in moment.new_events:
            self.strokes += 1
            self.at = 0
        self.at += 1
        if self.strokes % 2:
            return {8: Cue("hand_stall", moment.time_s), 12: Cue("early_look", moment.time_s)}.get(self.at)
        return Cue("hold_done", moment.time_s) if self.strokes and self.at == 15 else None


def judge(stroke: StrokeRecord) -> Verdict:
    number = stroke.measures["hold_s"].value
    odd = number is not None and number % 2
    return Verdict((Fault("hand_stall", 0.0, 20.0, "deg", 12.0),)) if odd else Verdict()


class Keeping(PipelineSession):
    """Keeps each stroke, as a session with a record does: before it is handed out."""

    def __init__(self, pipeline: Pipeline, run: Run) -> None:
        super().__init__(pipeline)
        self._run = run

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        return self._kept(super().step(frame, body))

    def finish(self) -> PracticeStep | None:
        last = super().finish()
        return self._kept(last) if last is not None else None

    def _kept(self, step: PracticeStep) -> PracticeStep:
        if step.finished is None:
            return step
        if self._run.save is not None:
            self._run.save(step.finished)
        number = step.finished.number
        self._run.log.append(("saved", step.finished.record.measures["hold_s"].value))
        return replace(step, messages=(f"stroke {number}",))


@dataclass
class Run:
    """A loop of fakes. log: what happened in which order, from several threads."""

    source: Source
    clock: FakeClock = field(default_factory=FakeClock)
    keys: Iterable[str] = ()
    on_show: Callable[[Any], None] | None = None
    save: Callable[..., None] | None = None
    observer: Watcher = field(default_factory=Watcher)
    tones: Any = None
    linger_s: float = 0.0
    log: list[tuple[str, Any]] = field(default_factory=list)
    visible: bool = True
    replay: Any = None
    make_session: Callable[[], Any] | None = None

    def __post_init__(self) -> None:
        self.tones = self.tones or FakeTonePlayer(self.clock.now)
        self.display = FakeDisplay(self.clock.now, self.keys, self._shown)
        self.display.visible = self.visible
        self.reporter = FakeReporter()
        self.loop = LiveLoop(
            self.source,
            self.make_session or self._session,
            Devices(self.display, self.tones, self.reporter),
            self.clock,
            LoopOptions(self.linger_s, cautions_s=0.0),
            self.replay,
        )

    @property
    def said(self) -> list[str]:
        return self.reporter.lines

    def _session(self) -> PipelineSession:
        return Keeping(Pipeline(self.observer, Tracker(), LiveJudge(), judge, CueChooser()), self)

    def _shown(self, view: Any) -> None:
        if isinstance(view, DisplayState):
            self.log.append(("shown", view.strokes))
        if self.on_show is not None:
            self.on_show(view)

    def __call__(self) -> Summary:
        return self.loop.run()


def test_every_frame_is_judged_and_every_stroke_kept() -> None:
    run = Run(ListSource(frames(100)))
    summary = run()
    assert summary.frames == 100
    assert run.observer.found == list(range(100))
    assert [f.number for f in summary.strokes] == [1, 2, 3, 4]  # the fourth was under way at the end
    assert [[c.name for c in f.cues] for f in summary.strokes] == [["hand_stall"], ["hold_done"], ["hand_stall"], []]
    assert [len(f.verdict.faults) for f in summary.strokes] == [1, 0, 1, 0]
    assert run.display.closed == run.tones.closed == 1
    assert run.said == [f"stroke {n}" for n in (1, 2, 3, 4)]


def test_what_grows_with_every_stroke_keeps_no_signals() -> None:
    run = Run(ListSource(frames(100)))
    for stroke in run().strokes:
        signals = stroke.record.signals
        assert [len(each) for each in (signals.time_s, signals.index, *signals.columns.values())] == [0, 0, 0]


def test_a_stroke_is_kept_before_anything_of_it_is_shown() -> None:
    run = Run(ListSource(frames(100)))
    run()
    for number in (1, 2, 3, 4):
        saved = run.log.index(("saved", float(number)))
        shown = [i for i, (what, count) in enumerate(run.log) if what == "shown" and count >= number]
        assert all(saved < i for i in shown)
    assert run.log[-1] == ("shown", 4)


def test_one_sound_a_stroke_and_one_when_watching_begins() -> None:
    run = Run(ListSource(frames(90)))
    run()
    assert [name for _, name in run.tones.played] == ["ready", "hand_stall", "hold_done", "hand_stall"]


def outcome(source: Source, clock: FakeClock) -> list[Any]:
    run = Run(source, clock)
    summary = run()
    cues = [(c.name, c.frame_s) for c in summary.cues]
    return [
        cues,
        [(f.number, f.verdict.faults, f.cues, f.record.measures) for f in summary.strokes],
        run.observer.found,
    ]


def test_bursts_gaps_and_full_speed_give_the_same() -> None:
    """The tracker here is a stand-in; the real one goes through the same on rendered clips."""
    given = frames(100)
    at_once = outcome(ListSource(given), FakeClock())
    assert at_once[0] != []
    for size in (1, 3, 10, 100):
        clock = FakeClock()
        assert outcome(FakeCamera(given, bursts(given, size), clock), clock) == at_once
    late = [f.time_s + (2.0 if f.index >= 40 else 0.0) for f in given]
    clock = FakeClock()
    assert outcome(FakeCamera(given, late, clock), clock) == at_once


def test_a_window_that_hangs_does_not_hold_the_strokes_up() -> None:
    """The first drawing lasts until the last frame is judged: no wait in it, the sounds are out meanwhile."""
    observer = Watcher()
    last_judged = threading.Event()
    sounds: list[str] = []

    class Tones(FakeTonePlayer):
        def play(self, name: str) -> None:
            super().play(name)
            sounds.append(name)
            if len(sounds) == 4:
                last_judged.set()

    clock = FakeClock()
    hung: list[bool] = []

    def hang(view: DisplayState) -> None:
        if not hung:
            hung.append(last_judged.wait(20.0))

    run = Run(ListSource(frames(90)), clock, on_show=hang, observer=observer, tones=Tones(clock.now))
    summary = run()
    assert hung == [True]
    assert summary.frames == 90
    assert summary.drawn < 90  # the window shows the newest, not every one


@pytest.mark.parametrize(
    ("draws_s", "rests_s", "unseen_s"),
    [(0.03, 0.03, 0.03), (0.003, 0.75 / 30 - 0.003, 0.75 / 15 - 0.003), (0.2, 0.1, 0.1)],
)
def test_the_window_rests_at_least_as_long_as_it_draws_and_then_until_a_frame_has_been_judged(
    draws_s: float, rests_s: float, unseen_s: float
) -> None:
    """So that the strokes get the time, not the picture; half as often while nobody looks at it."""
    clock = FakeClock()
    run = Run(ListSource(frames(20)), clock, on_show=lambda view: clock.advance(draws_s))
    summary = run()
    assert clock.naps
    down = [s.moment is not None and s.moment.phase.eyes_down for _, s in run.display.shown]
    assert {True, False} <= set(down)
    assert [nap for _, nap in clock.naps] == pytest.approx([unseen_s if d else rests_s for d in down])
    assert len(clock.naps) == summary.drawn


def test_the_newest_view_is_what_is_shown_last() -> None:
    run = Run(ListSource(frames(50)))
    run()
    last = run.display.shown[-1][1]
    assert last.strokes == 2
    assert last.observation.index == 49


def test_a_lost_camera_ends_the_run_and_loses_no_stroke() -> None:
    failure = CameraError("has given no picture for 3 s", "camera 0", "check the cable")
    run = Run(ListSource(frames(40), failure))
    with pytest.raises(CameraError, match="no picture"):
        run()
    assert [f.number for f in run.loop.summary.strokes] == [1, 2]  # the second was under way
    assert [entry for entry in run.log if entry[0] == "saved"] == [("saved", 1.0), ("saved", 2.0)]
    assert run.display.closed == run.tones.closed == 1


def test_a_broken_model_comes_up_on_the_main_thread() -> None:
    run = Run(ListSource(frames(40)), observer=Watcher(fail_at=28))
    with pytest.raises(RuntimeError, match="the model broke"):
        run()
    assert run.loop.summary.frames == 28
    assert [f.number for f in run.loop.summary.strokes] == [1]


def test_a_full_disk_comes_up_on_the_main_thread_and_nothing_is_shown_of_the_stroke() -> None:
    def full(*stroke: Any) -> None:
        raise StoreError("the disk is full", "strokes.sqlite", "make room")

    run = Run(ListSource(frames(60)), save=full)
    with pytest.raises(StoreError, match="disk is full"):
        run()
    assert all(view.strokes == 0 for _, view in run.display.shown)


def test_a_model_that_cannot_be_loaded() -> None:
    run = Run(ListSource(frames(5)), make_session=lambda: (_ for _ in ()).throw(ImportError("no ai_edge_litert")))
    with pytest.raises(ImportError, match="no ai_edge_litert"):
        run()
    assert run.display.closed == run.tones.closed == 1


class Endless(Source):
    """A source that never ends by itself; counts what it gave. step: from one frame's number to the next one's."""

    def __init__(self, live: bool, step: int = 1) -> None:
        self.live, self._step = live, step
        self.name = "endless"
        self.given = 0
        self.ended = threading.Event()

    def read(self) -> Frame | None:
        if self.ended.is_set():
            return None
        index = 1 + self.given * self._step
        self.given += 1
        return Frame(index, index / FPS, np.full((4, 6, 3), index % 256, np.uint8))

    def close(self) -> bool:
        self.ended.set()
        return True


@pytest.mark.parametrize("live", [True, False])
@pytest.mark.parametrize("keys", [["quit"], ["pause", "quit"], ["pause", "pause", "mute", "quit"]])
def test_keys_end_it_at_any_time(live: bool, keys: list[str]) -> None:
    run = Run(Endless(live), keys=keys)
    run()
    assert run.display.closed == 1
    assert not [line for line in run.said if not line.startswith("stroke")]
    assert not [t for t in threading.enumerate() if t.name in ("vision", "body")]


def test_control_c_is_a_way_to_stop() -> None:
    def interrupt(view: DisplayState) -> None:
        if view.moment is not None:
            raise KeyboardInterrupt

    run = Run(Endless(True), on_show=interrupt)
    summary = run()
    assert summary.frames > 0
    assert run.source.ended.is_set()  # type: ignore[attr-defined]


def test_mute_is_shown_and_obeyed() -> None:
    gate = threading.Event()

    class Gated(ListSource):
        def read(self) -> Frame | None:
            gate.wait(20.0)
            return super().read()

    run = Run(Gated(frames(60)), keys=["mute"], on_show=lambda view: gate.set() if view.muted else None)
    summary = run()
    assert summary.cues
    assert run.tones.played == []
    assert run.display.shown[-1][1].muted


def test_without_sound_the_view_says_so() -> None:
    run = Run(ListSource(frames(10)), tones=SilentPlayer())
    run()
    assert not run.display.shown[-1][1].can_sound


def test_the_last_view_lingers_by_the_clock() -> None:
    run = Run(ListSource(frames(30)), linger_s=2.0)
    run()
    assert run.clock.now() >= 2.0


def test_cautions_come_first_and_leave_when_frames_come() -> None:
    run = Run(ListSource(frames(10)))
    run()
    views = [view for _, view in run.display.shown]
    assert views[0].cautions
    assert "Opening" in views[0].status
    assert not views[-1].cautions


def test_cautions_are_said_where_no_window_shows_them() -> None:
    run = Run(ListSource(frames(3)), visible=False)
    run()
    (line,) = run.said
    assert "Clear the space" in line
    assert "cable" in line
    assert "back hurts" in line
    assert "medical" not in in_language(line, LANGUAGES["de"])  # nor is the last of it left in English
    assert "no medical advice" in line


def test_dropped_frames_are_counted() -> None:
    source = ListSource(frames(3))
    source.dropped = 4
    assert Run(source)().dropped == 4


def test_while_frames_are_lost_the_view_says_so() -> None:
    """Four of the first 30 frames never came; a second later that is over."""

    def lost(count: int) -> bool:
        run = Run(ListSource([frame for frame in frames(count) if frame.index not in (7, 8, 20, 21)]))
        run()
        return bool(run.display.shown[-1][1].losing)

    assert not lost(7)
    assert lost(30)
    assert not lost(22 + round(FPS) + 1)


def test_notices_are_passed_on_once() -> None:
    class Slow(ListSource):
        def notices(self) -> tuple[str, ...]:
            return ("turn a light on",)

    run = Run(Slow(frames(200)))
    assert run().notices == ["turn a light on"]
    assert run.said.count("turn a light on") == 1


def test_a_rate_that_goes_up_and_down_is_told_once_of_each_camera() -> None:
    class Wanders(ListSource):
        asked = 0

        def notices(self) -> tuple[str, ...]:
            self.asked += 1
            return tuple(
                line for name in ("camera 0", "camera 1") for line in too_slow(name, 14.0 + self.asked % 3, 60.0)
            )

    found = Run(Wanders(frames(300)))().notices
    assert [line[:8] for line in found] == ["camera 0", "camera 1"]


def test_latency_is_measured_on_the_clock() -> None:
    clock = FakeClock()

    class Slow(Watcher):
        def look(self, frame: Frame, found: int) -> Observation:
            clock.advance(0.004)
            return super().look(frame, found)

    summary = Run(ListSource(frames(30)), clock, observer=Slow())()
    latency_s = statistics.median(cue.seen_to_sound_s for cue in summary.cues)
    assert 0.004 <= latency_s <= 0.004 * 6  # its own look, and those of frames found ahead
    assert summary.first_frame_s is not None


def test_the_sound_that_confirms_an_order_is_no_cue() -> None:
    class Ordered(Keeping):
        def step(self, frame: Frame, body: Any) -> PracticeStep:
            step = super().step(frame, body)
            return replace(step, sound=READY) if frame.index == 2 else step

    run = Run(ListSource(frames(30)))
    run.loop = LiveLoop(
        run.source,
        lambda: Ordered(Pipeline(run.observer, Tracker(), LiveJudge(), judge, CueChooser()), run),
        Devices(run.display, run.tones, run.reporter),
        run.clock,
        LoopOptions(0.0, cautions_s=0.0),
        None,
    )
    summary = run()
    assert [name for _, name in run.tones.played] == [READY, READY, "hand_stall"]
    assert [cue.name for cue in summary.cues] == ["hand_stall"]


def test_paused_a_camera_is_read_on_and_a_clip_waits() -> None:
    for live in (True, False):
        source, paused, seen = Endless(live), threading.Event(), threading.Event()
        paused.set()
        ahead = Prefetch(source, lambda frame, seen=seen: seen.set(), FakeClock(), paused)
        ahead.start()
        if live:
            while source.given < 100:  # it goes on reading, so that the first frame after the pause is fresh
                pass
            assert not seen.is_set()
        else:
            assert not seen.wait(0.05)
            assert source.given == 0
        paused.clear()
        assert next(iter(ahead)).frame is not None
        source.close()
        assert ahead.close()


@pytest.mark.parametrize(("step", "most"), [(1, AHEAD + 1), (2, 1)], ids=["none is lost", "every second is lost"])
def test_a_camera_is_read_ahead_while_no_frame_of_it_is_lost(step: int, most: int) -> None:
    """Else by one frame only: read sooner than it is needed it would be an old one by then."""
    found: list[int] = []
    full, more = threading.Event(), threading.Event()

    def find(frame: Frame) -> None:
        found.append(frame.index)
        if len(found) >= 2 + most:
            (full if len(found) == 2 + most else more).set()

    source = Endless(live=True, step=step)
    ahead = Prefetch(source, find, FakeClock())
    ahead.start()
    taken = iter(ahead)
    assert [next(taken).frame.index for _ in range(2)] == [1, 1 + step]  # the second tells that one is missing
    assert full.wait(10.0)  # while it is being looked at, these are read
    assert not more.wait(0.05)  # and none after them
    source.close()
    assert ahead.close()


def test_a_queue_keeps_order_and_holds_the_giver() -> None:
    queue: BoundedQueue[int] = BoundedQueue(2)
    taken: list[int] = []
    giver = threading.Thread(target=lambda: [queue.put(i, 10.0) for i in range(50)] and queue.end())
    giver.start()
    while (value := queue.take(10.0)) is not None:
        taken.append(value)
    giver.join(10.0)
    assert taken == list(range(50))
    assert queue.drained
    assert not queue.put(1, 10.0)
    one_by_one: BoundedQueue[int] = BoundedQueue(5)
    assert one_by_one.put(7, 0.0)
    taker = threading.Thread(target=one_by_one.take, args=(10.0,))
    taker.start()
    assert one_by_one.emptied(10.0)
    taker.join(10.0)
    one_by_one.put(8, 0.0)
    one_by_one.end()
    assert one_by_one.emptied(10.0)
    assert not one_by_one.drained
    full: BoundedQueue[int] = BoundedQueue(1)
    assert full.put(1, 0.0)
    full.end(drop=True)
    assert full.take(10.0) is None


def test_no_wait_on_a_queue_is_without_a_limit() -> None:
    queue: BoundedQueue[int] = BoundedQueue(1)
    assert queue.take(0.01) is None
    assert not queue.drained
    assert queue.put(1, 0.01)
    assert not queue.put(2, 0.01)
    assert not queue.emptied(0.01)
    assert queue.take(0.01) == 1


def test_newest_replaces() -> None:
    slot: LatestValue[int] = LatestValue()
    assert slot.take(0.0) is None
    slot.put(1)
    slot.put(2)
    assert slot.take(0.0) == 2
    assert slot.take(0.0) is None


def test_the_next_value_is_given_rather_than_the_one_that_lies_there() -> None:
    slot: LatestValue[int] = LatestValue()
    slot.put(1)
    taken = threading.Event()

    def puts(stop: threading.Event) -> None:
        while not taken.is_set():
            slot.put(2)

    worker = Worker("puts", puts)
    with slot._change:  # until it is waited for
        worker.start()
        assert slot.take(5.0) == 2
    taken.set()
    assert worker.join(5.0)


def test_viewer_keeps_the_result_until_the_next_stroke() -> None:
    viewer = DisplayStateBuilder()
    frame = frames(1)[0]

    def step(phase: Phase, new: tuple[str, ...] = (), held: float | None = None, done: Any = None) -> DisplayState:
        moment = LiveState(0.0, phase, Events(), new, held_s=held)  # type: ignore[arg-type]
        return viewer.see(frame, StepResult(Observation(0, 0.0), moment, None, done))

    assert step(Phase.HOLD, held=0.7).held_s is None  # told afterwards
    done = Finished(1, record(2), Verdict(), ())
    view = step(Phase.LOOKED, done=done)
    assert view.sign is not None
    assert (view.held_s, view.strokes) == (2.0, 1)
    assert step(Phase.ADDRESS).sign == view.sign
    fresh = step(Phase.BACKSTROKE, ("takeaway_s",))
    assert (fresh.sign, fresh.held_s, fresh.strokes) == (None, None, 1)
    assert step(Phase.FORWARD).sign is None
    assert step(Phase.ADDRESS).sign == view.sign  # it was a waggle


def test_a_fault_is_signed_when_it_sounds() -> None:
    """There may be no loudspeaker: the sign must not wait for the stroke's end."""
    viewer = DisplayStateBuilder()
    moment = LiveState(1.0, Phase.FOLLOW, Events())
    seen = viewer.see(frames(1)[0], StepResult(Observation(0, 0.0), moment, Cue("hand_stall", 1.0), None))
    assert seen.sign is not None
    assert (seen.sign.word, seen.sign.kind) == ("Stopped hands", "fault")
    chimed = DisplayStateBuilder().see(
        frames(1)[0], StepResult(Observation(0, 0.0), moment, Cue("hold_done", 1.0), None)
    )
    assert chimed.sign is None  # the result says it, later


def test_a_silent_block_tells_nothing_of_how_it_was() -> None:
    viewer = DisplayStateBuilder(Targets(silent=True))
    moment = LiveState(1.0, Phase.HOLD, Events(), held_s=1.5)
    assert viewer.see(frames(1)[0], StepResult(Observation(0, 0.0), moment, None, None)).held_s is None
    faulty = Finished(1, record(1), Verdict((Fault("hand_stall", 0.0, 20.0, "deg", 12.0),)), ())
    for finished in (faulty, Finished(2, record(2), Verdict(), ())):
        view = viewer.close(finished)
        assert view.sign is not None
        assert (view.sign.word, view.sign.kind) == ("Stroke kept", "plain")
        assert view.held_s is None


def test_a_pipeline_alone_is_synchronous_and_counts_on_where_another_ended() -> None:
    pipeline = Pipeline(Watcher(), Tracker(), LiveJudge(), judge, strokes=3)
    results = [pipeline.step(frame, pipeline.find_body(frame)) for frame in frames(28)]
    assert [r.finished.number for r in results if r.finished is not None] == [4]
    assert pipeline.strokes == 4
    assert pipeline.finish() is None


def test_a_result_is_held_back_for_its_time() -> None:
    viewer = DisplayStateBuilder(Targets(result_delay_s=2.0))
    kept = replace(record(2), events=Events(settle_s=1.0))

    def see(time_s: float, done: Finished | None = None) -> DisplayState:
        return viewer.see(
            frames(1)[0], StepResult(Observation(0, time_s), LiveState(time_s, Phase.LOOKED, Events()), None, done)
        )

    assert see(2.5, Finished(1, kept, Verdict(), ())).sign is None
    assert see(2.9).sign is None
    shown = see(3.0).sign
    assert shown is not None
    assert shown.word == "Well held"
    assert viewer.close(Finished(2, kept, Verdict(), ())).sign is not None  # the frames have ended


def test_a_plan_keeps_a_stroke_to_itself_and_sums_up() -> None:
    viewer = DisplayStateBuilder()
    held_back = viewer.close(Finished(1, record(1), Verdict(), (), NOTHING))
    assert held_back.sign is not None
    assert (held_back.sign.word, held_back.sign.detail) == ("Stroke kept", "")
    summed = viewer.close(Finished(2, record(2), Verdict(), (), FeedbackLevel(summary_of=2)))
    assert summed.sign is not None
    assert summed.sign.word == "2 of 2 good"


class Answers(Keeping):
    """Says at the tenth frame what an order came to."""

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        step = super().step(frame, body)
        return replace(step, answers=("the ball: holed",)) if frame.index == 10 else step


def answers_shown(run: Run) -> list[str]:
    return [view.answer for _, view in run.display.shown if isinstance(view, DisplayState)]


def test_what_an_order_came_to_is_shown_for_a_while() -> None:
    def later(view: Any) -> None:
        if isinstance(view, DisplayState) and view.answer:
            run.clock.advance(ANSWER_S)

    pipeline = Pipeline(Watcher(), Tracker(), LiveJudge(), judge, CueChooser())
    run = Run(ListSource(frames(30)), on_show=later, linger_s=1.0, make_session=lambda: Answers(pipeline, run))
    run()
    assert answers_shown(run).count("the ball: holed") == 1
    assert answers_shown(run)[-1] == ""


class Saves:
    """What sees strokes again, as far as the key that keeps a video asks."""

    may_save = True

    def start(self) -> None: ...

    def close(self) -> None: ...

    def see(self, frame: Frame, step: PracticeStep) -> None: ...

    def ended(self, last: PracticeStep | None) -> None: ...

    def shown(self, view: DisplayState) -> DisplayState:
        return view

    def save(self) -> str:
        return "stroke 1: video kept"


def test_the_key_that_keeps_a_video_is_answered_on_the_screen() -> None:
    run = Run(ListSource(frames(30)), keys=["save"], linger_s=1.0, replay=Saves())
    run()
    assert "stroke 1: video kept" in answers_shown(run)
