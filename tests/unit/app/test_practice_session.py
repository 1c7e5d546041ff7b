"""A run of practice as values: what a step gives, orders and drills, and a second camera that goes by the same drill."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Iterator, Sequence

import pytest

from tests.support.practice_stage import PICTURE, Watches, joined, side_on, stroke
from trainer.app.context import RunContext, load_context
from trainer.app.practice.drill_sequence import drill_sequence
from trainer.app.practice.practice_session import PracticePlan, PracticeSession
from trainer.app.practice.second_session import SecondSession
from trainer.app.practice.stroke_recorder import StrokeRecorder
from trainer.app.practice.two_cameras import SecondCameraRequest, TwoCameras
from trainer.domain.observation import Frame, Observation
from trainer.domain.phases import Phase
from trainer.feedback.rhythm import RHYTHM
from trainer.feedback.signs import Sign
from trainer.live.auto_replay import LiveReplay, ReplayConfig
from trainer.live.practice_step import PracticeStep
from trainer.settings.drill_file import Drill, load_drill
from trainer.store.store import Store
from trainer.testing.fakes import FakeClock, ListSource

DRILL = """\
[drill]
name = "{name}"
instruction = "Do it"
cue = "{cue}"
next = "{following}"
[block]
strokes = 4
silent_strokes = 2
[feedback]
schedule = "every"
[limits.short_hold]
limit_s = {hold_s}
[limits.early_look]
limit_deg = {turn_deg}
"""


def drill(
    folder: Path, name: str, cue: str = "both", following: str = "", hold_s: float = 1.0, turn_deg: float = 12.0
) -> Drill:
    drills = folder / "drills"
    drills.mkdir(exist_ok=True)
    text = DRILL.format(name=name, cue=cue, following=following, hold_s=hold_s, turn_deg=turn_deg)
    (drills / f"{name}.toml").write_text(text, encoding="utf-8")
    return load_drill(name, (drills,))


@pytest.fixture
def context(tmp_path: Path) -> RunContext:
    return load_context(tmp_path)


@pytest.fixture
def store(context: RunContext) -> Iterator[Store]:
    with context.open_store() as opened:
        yield opened


def session_of(context: RunContext, store: Store, seen: Sequence[Observation], first: Drill | None) -> PracticeSession:
    plan = PracticePlan(context, "made up", drill_sequence(context), first)
    return PracticeSession(plan, store).start(Watches(seen))


def steps(session: PracticeSession, seen: Sequence[Observation]) -> list[PracticeStep]:
    return [session.step(Frame(s.index, s.time_s, PICTURE), None) for s in seen]


def test_a_step_says_all_and_a_stroke_is_on_record_before_it_is_told(context: RunContext, store: Store) -> None:
    seen = joined(stroke(1.3), stroke(1.3))
    session = session_of(context, store, seen, None)
    kept = []
    for frame in (Frame(s.index, s.time_s, PICTURE) for s in seen):
        step = session.step(frame, None)
        if step.finished is not None:
            kept.append((step.finished.number, len(store.recent(9)), step.messages))
        assert step.state.image is PICTURE
        assert step.state.gestures is not None
    assert [(number, count) for number, count, _ in kept] == [(1, 1), (2, 2)]
    assert all(lines[-1].startswith(f"stroke {number} (ball), held 1.") for number, _, lines in kept)
    assert session.finish() is None


def test_the_stroke_under_way_at_the_end_is_kept(context: RunContext, store: Store) -> None:
    seen = stroke(1.3)[: int(5.2 * 30)]
    session = session_of(context, store, seen, None)
    assert not any(step.finished for step in steps(session, seen))
    last = session.finish()
    assert last is not None
    assert last.finished is not None
    assert last.state.strokes == len(store.recent(9)) == 1
    assert last.messages


def test_the_stroke_under_way_at_the_end_is_called_by_its_drill(
    context: RunContext, store: Store, tmp_path: Path
) -> None:
    """Without a fault, and not what the drill asks for: feedback outside the band tells it, also of the last stroke."""
    asked = "[goals.back_cm]\nat_least = 100\n"
    (tmp_path / "drills").mkdir()
    text = DRILL.replace('"every"', '"outside"') + asked
    (tmp_path / "drills" / "Far back.toml").write_text(
        text.format(name="Far back", cue="both", following="", hold_s=0.2, turn_deg=12.0), encoding="utf-8"
    )
    seen = stroke(1.3)[: int(5.2 * 30)]
    session = session_of(context, store, seen, load_drill("Far back", (tmp_path / "drills",)))
    taken = steps(session, seen)
    assert not any(step.finished for step in taken)
    last = session.finish()
    assert last is not None
    assert last.finished is not None
    assert last.finished.called == "not good"
    assert last.state.sign is not None
    assert last.state.sign.kind == "fault"


def test_no_older_result_stands_for_a_stroke_that_was_cut_off(context: RunContext, store: Store) -> None:
    seen = joined(stroke(1.3), stroke(1.3))
    half = len(seen) // 2
    cut = half + next(
        i for i, step in enumerate(steps(session_of(context, store, seen, None), seen[half:])) if _back(step)
    )
    session = session_of(context, store, seen, None)
    given = steps(session, seen[: cut + 3])
    assert given[half - 1].state.sign is not None
    assert session.finish() is None
    late = [replace(s, time_s=s.time_s + 10.0) for s in seen[-60:]]
    assert steps(session, late)[-1].state.sign == Sign("Not counted", "its pictures ended too soon", "plain")


def _back(step: PracticeStep) -> bool:
    return step.result is not None and step.result.moment.phase is Phase.BACKSTROKE


def test_an_order_says_what_it_came_to(context: RunContext, store: Store) -> None:
    seen = joined(stroke(1.3), stroke(1.3))
    session = session_of(context, store, seen, None)
    half = len(seen) // 2
    assert not any(step.answers for step in steps(session, seen[:half]))
    session.order("holed")
    session.order("next")
    answers = [step.answers for step in steps(session, seen[half:]) if step.answers]
    assert answers == [("the ball: holed", "no drill follows")]


def test_the_rhythm_sounds_at_each_address_and_is_no_cue_of_the_stroke(
    context: RunContext, store: Store, tmp_path: Path
) -> None:
    seen = joined(stroke(1.3), stroke(1.3))
    given = steps(session_of(context, store, seen, drill(tmp_path, "clicks", cue="rhythm")), seen)
    assert [step.sound for step in given if step.sound is not None] == [RHYTHM, RHYTHM]
    assert [step.finished.cues for step in given if step.finished is not None] == [(), ()]


def test_the_next_drill_brings_its_limits_and_targets_and_goes_on_counting(
    context: RunContext, store: Store, tmp_path: Path
) -> None:
    first = drill(tmp_path, "first", following="second", hold_s=1.0)
    drill(tmp_path, "second", hold_s=2.5, turn_deg=20.0)
    seen = joined(stroke(1.3), stroke(1.3))
    session = session_of(context, store, seen, first)
    assert session.opening == ("first: Do it",)
    half = len(seen) // 2
    before = steps(session, seen[:half])
    session.order("next")
    after = steps(session, seen[half:])
    assert "second: Do it" in [line for step in after for line in step.messages]
    assert before[-1].targets.hold_s == 1.0
    assert (after[1].targets.hold_s, after[1].targets.turn_deg) == (2.5, 20.0)
    assert after[0].state.targets == after[1].targets
    strokes = [step.finished for step in (*before, *after) if step.finished is not None]
    assert [s.number for s in strokes] == [1, 2]
    assert [s.verdict.limits.short_hold.value for s in strokes] == [1.0, 2.5]
    assert [[f.name for f in s.verdict.faults] for s in strokes] == [[], ["short_hold"]]


def test_a_drill_says_what_it_is_until_its_first_stroke(context: RunContext, store: Store, tmp_path: Path) -> None:
    first = drill(tmp_path, "first", following="second")
    drill(tmp_path, "second")
    seen = joined(stroke(1.3), stroke(1.3))
    session = session_of(context, store, seen, first)
    half = len(seen) // 2
    before = [step.state.sign for step in steps(session, seen[:half])]
    session.order("next")
    after = [step.state.sign for step in steps(session, seen[half:])]
    assert before[0] == Sign("first", "Do it", "plain")
    assert before[-1] is not None
    assert before[-1].word == "Well held"
    assert after[0] == Sign("second", "Do it", "plain")
    begun = after.index(None)
    assert set(after[:begun]) == {after[0]}
    assert after[0] not in after[begun:]


def test_a_result_that_is_held_back_goes_before_the_next_drill(
    context: RunContext, store: Store, tmp_path: Path
) -> None:
    first = drill(tmp_path, "first", following="second")
    drill(tmp_path, "second")
    feedback = context.settings.feedback.model_copy(update={"result_delay_s": 5.0})
    seen = stroke(1.3)
    last = seen[-1]
    seen = [*seen, *(replace(last, index=last.index + n, time_s=last.time_s + n / 30) for n in range(1, 300))]
    later = replace(context, settings=context.settings.changed(feedback=feedback))
    session = session_of(later, store, seen, first)
    signs = []
    for one in seen:
        step = session.step(Frame(one.index, one.time_s, PICTURE), None)
        signs.append(step.state.sign)
        if step.finished is not None:
            assert step.state.sign is None  # held back
            session.order("next")
    told = [sign.word for sign in dict.fromkeys(signs) if sign is not None]
    assert told == ["first", "Well held", "second"]


def test_a_replay_is_drawn_by_the_strokes_own_limits_and_targets(
    context: RunContext, store: Store, tmp_path: Path
) -> None:
    """The next drill is ordered while the replay of a stroke of the first one is still to come."""
    first = drill(tmp_path, "first", following="second", hold_s=1.0)
    drill(tmp_path, "second", hold_s=2.5, turn_deg=20.0)
    seen = joined(stroke(1.3), stroke(1.3))
    session, clock = session_of(context, store, seen, first), FakeClock()
    replay = LiveReplay(ReplayConfig(), clock)
    replay.start()
    try:
        over = False
        for observation in seen:
            frame = Frame(observation.index, observation.time_s, PICTURE)
            step = session.step(frame, None)
            replay.see(frame, step)
            replay.ring.settled()
            if over:
                break
            if step.finished is not None:
                session.order("next")
                over = True
        shown = replay.shown(step.state)
        assert step.state.targets.hold_s == 2.5
        assert shown.replay is not None
        assert shown.replay.stroke_clip.limits.short_hold.value == 1.0
        assert (shown.targets.hold_s, shown.targets.turn_deg) == (1.0, 12.0)
    finally:
        replay.close()


def test_a_second_camera_goes_by_the_drill_and_by_its_changes(
    context: RunContext, store: Store, tmp_path: Path
) -> None:
    """Two strokes in one drill, one in the next: both cameras judge and record them alike, and one counts."""
    first = drill(tmp_path, "first", following="second", hold_s=1.0)
    drill(tmp_path, "second", hold_s=2.5)
    seen = joined(stroke(1.3), stroke(1.3), stroke(1.3))
    both = TwoCameras(SecondCameraRequest(clip=tmp_path / "b.mp4"), ListSource([]), ListSource([]), FakeClock())
    plan = PracticePlan(context, "first", drill_sequence(context), first)
    lead = PracticeSession(plan, store, link=both.first).start(Watches(seen))
    recorder = StrokeRecorder(store, "second")
    follower = SecondSession(context.settings, recorder, Watches(seen), lead, both.second)
    told: dict[str, list[tuple[float, list[str]]]] = {"first": [], "second": []}
    for observation in seen:
        frame = Frame(observation.index, observation.time_s, PICTURE)
        if observation.time_s == pytest.approx(13.0):
            lead.order("next")
        for name, session in (("first", lead), ("second", follower)):
            finished = session.step(frame, None).finished
            if finished is not None:
                verdict = finished.verdict
                told[name].append((verdict.limits.short_hold.value, [fault.name for fault in verdict.faults]))
    assert told["first"] == [(1.0, []), (1.0, []), (2.5, ["short_hold"])]
    assert told["second"] == told["first"]
    kept = {number: [] for number in (lead.record_session, recorder.session)}
    with store.reading() as db:
        for number, name, stage in db.execute("SELECT session_id, drill, stage FROM strokes ORDER BY number"):
            kept[number].append((name, stage))
    assert kept[lead.record_session] == [("first", "block"), ("first", "block"), ("second", "block")]
    assert kept[recorder.session] == kept[lead.record_session]


def test_a_drill_that_changes_in_mid_stroke_waits_for_the_second_cameras_stroke(
    context: RunContext, store: Store, tmp_path: Path
) -> None:
    first = drill(tmp_path, "first", following="second", hold_s=1.0)
    drill(tmp_path, "second", hold_s=2.5)
    seen = stroke(1.3)
    away = [Observation(s.index, s.time_s) for s in seen]  # the first camera sees nobody: its drill may change any time
    both = TwoCameras(SecondCameraRequest(clip=tmp_path / "b.mp4"), ListSource([]), ListSource([]), FakeClock())
    lead = PracticeSession(PracticePlan(context, "first", drill_sequence(context), first), store).start(Watches(away))
    follower = SecondSession(context.settings, StrokeRecorder(store, "second"), Watches(seen), lead, both.second)
    strokes = []
    for observation in seen:
        frame = Frame(observation.index, observation.time_s, PICTURE)
        step = follower.step(frame, None)
        if step.result is not None and step.result.moment.phase == "backstroke":
            lead.order("next")
        lead.step(frame, None)
        strokes += [step.finished] if step.finished is not None else []
    assert lead.targets.hold_s == 2.5
    last = follower.finish()
    strokes += [last.finished] if last is not None and last.finished is not None else []
    assert [s.verdict.limits.short_hold.value for s in strokes] == [1.0]


class AddedVideos:
    """In place of ``StrokeVideos``: the sessions of the record whose newest stroke each stroke is; None: not on record."""

    def __init__(self) -> None:
        self.sessions: list[int | None] = []

    def add(self, session: int | None) -> None:
        self.sessions.append(session)


def test_only_strokes_of_the_wanted_kind_are_put_on_record(context: RunContext, store: Store) -> None:
    kinds = ("ball", "rehearsal", "ball", "rehearsal")
    seen, videos = joined(*[stroke(kind=kind) for kind in kinds]), AddedVideos()
    plan = PracticePlan(context, "made up", drill_sequence(context), recorded="rehearsal")
    session = PracticeSession(plan, store, videos).start(Watches(seen))  # type: ignore[arg-type]
    made = [step.finished.record.kind for step in steps(session, seen) if step.finished is not None]
    made += [step.finished.record.kind for step in [session.finish()] if step is not None and step.finished is not None]
    assert made == list(kinds)
    assert [line.kind for line in store.recent(9)] == ["rehearsal", "rehearsal"]
    assert videos.sessions == [None, session.record_session, None, session.record_session]


def test_a_run_ends_after_so_many_strokes_with_a_ball(context: RunContext, store: Store) -> None:
    seen = joined(*[stroke(kind=kind) for kind in ("rehearsal", "ball", "rehearsal", "ball", "ball")])
    session = PracticeSession(PracticePlan(context, "made up", drill_sequence(context), strokes=2), store)
    session.start(Watches(seen))
    ended = next(step for step in steps(session, seen) if step.ended)
    assert ended.state.strokes == 4  # two rehearsals among them


def test_practice_without_a_stroke_says_at_its_end_what_to_look_at(context: RunContext, store: Store) -> None:
    empty = [replace(one, body=None, head=None, putter=None, ball=None) for one in stroke(1.3)]
    for seen, lines in (
        (empty, ("no stroke found: nobody is seen",)),
        (stroke(1.3)[:60], ()),  # ended at once: nobody asks
        (stroke(1.3), ()),
    ):
        session = session_of(context, store, seen, None)
        steps(session, seen)
        session.finish()
        said = session.seen.nothing_found(context.settings, session.record_session is not None)
        assert len(said) == len(lines)
        assert all(one.startswith(wanted) for one, wanted in zip(said, lines, strict=True)), said


def test_practice_from_the_wrong_side_says_so_again_at_its_end(context: RunContext, store: Store) -> None:
    still = [replace(one, body=side_on(one).body) for one in stroke(1.3)[:30]] * 4
    seen = [replace(one, index=i, time_s=i / 30) for i, one in enumerate(still)]
    session = session_of(context, store, seen, None)
    steps(session, seen)
    assert session.finish() is None
    (line,) = session.seen.nothing_found(context.settings, session.record_session is not None)
    assert line.startswith("no stroke found; the camera looks down-the-line, not face-on")
