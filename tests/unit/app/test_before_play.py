"""Before play: its parts in order, which strokes are told, no limit changed, and an end by itself."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from tests.support.practice_stage import PICTURE, Watches, joined, stroke
from trainer.app.context import load_context
from trainer.app.practice.before_play import MOST_S, PARTS, BeforePlay
from trainer.app.practice.practice import PracticeRequest, practice_plan
from trainer.app.practice.practice_session import PracticeSession
from trainer.coaching.verdict import Verdict
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.domain.phases import Phase
from trainer.domain.record import Events, LiveState
from trainer.domain.verdict import Fault
from trainer.feedback.cues import CueChooser
from trainer.store.history import StudentKey, practised
from trainer.store.store import Store

EARLY = Verdict((Fault("early_look", 1.0, 0.3, "s", 0.0),))
CLOSE = Verdict(too_close=True)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    assert run(["--data-folder", str(tmp_path), "students", "add", "Robin", 'student.drills=["ladder"]']) == 0
    return tmp_path


def test_the_parts_follow_each_other_and_say_what_was_held(tmp_path: Path) -> None:
    with Store(tmp_path, "t") as store:
        chooser = CueChooser()
        parts = BeforePlay(store, "Robin", chooser, 3)
        said: list[str] = []
        told, targets = [], []
        for number in range(sum(part.strokes for part in PARTS)):
            told.append(chooser.feedback_level)
            targets.append(parts.target_m)
            assert not parts.ends(LiveState(float(number), Phase.AWAY, Events()))
            assert parts.kept("rehearsal", EARLY) == ()  # does not count
            chooser.end_stroke()
            said += parts.kept("ball", {1: EARLY, 2: CLOSE}.get(number, Verdict()))
        assert said == [
            "five holds: 3 of 4 held, 1 not judged",
            "to today's green: 6 of 6 held",
            "five in silence: 5 of 5 held",
        ]
        assert [level.silent for level in told] == [False] * 5 + [False, True] * 3 + [True] * 5
        assert all(level.outside_only for level in told[:5])
        assert targets[:5] == targets[11:] == [None] * 5
        ladder = targets[5:11]
        assert sorted(t for t in ladder if t is not None) == [2.0, 2.0, 4.0, 4.0, 6.0, 6.0]
        assert all(a != b for a, b in pairwise(ladder))
        assert parts.ends(LiveState(200.0, Phase.AWAY, Events()))
        assert parts.result() == ("go and play",)
        assert parts.view().stroke == "Go and play"


def test_the_time_ends_it_but_not_a_stroke(tmp_path: Path) -> None:
    with Store(tmp_path, "t") as store:
        parts = BeforePlay(store, "Robin", CueChooser(), 3)
        assert not parts.ends(LiveState(100.0, Phase.AWAY, Events()))
        parts.kept("ball", Verdict())
        assert not parts.ends(LiveState(100.0 + MOST_S, Phase.AWAY, Events()))
        assert not parts.ends(LiveState(101.0 + MOST_S, Phase.FORWARD, Events()))
        assert parts.ends(LiveState(102.0 + MOST_S, Phase.LOOKED, Events())) is False  # the stroke is not over yet
        assert parts.ends(LiveState(103.0 + MOST_S, Phase.AWAY, Events()))
        assert parts.result() == ("five holds: 1 of 1 held", "the time is over; go and play")


def test_a_run_of_it(folder: Path) -> None:
    context = load_context(folder, "Robin")
    with context.open_store() as store:
        plan = practice_plan(context, PracticeRequest(before_play=True))
        seen = joined(*[stroke(1.4)] * 6)
        session = PracticeSession(plan, store).start(Watches(seen))
        assert session.opening[0].startswith("before play: five holds: take your address")
        session.order("next")  # there is no drill to go on to
        steps = [session.step(Frame(s.index, s.time_s, PICTURE), None) for s in seen]
        session.order("holed")
        steps.append(session.step(Frame(seen[-1].index, seen[-1].time_s + 0.1, PICTURE), None))
        lines = [line for step in steps for line in step.messages]
        assert "five holds: 5 of 5 held" in lines
        assert "no drill follows" in lines
        assert any(line.startswith("the ball: holed, ") and line.endswith(" m") for line in lines)
        drill = steps[-1].state.drill
        assert drill is not None
        assert drill.stroke == "To today's green: 2 of 6"
        assert drill.distance
        assert steps[4].targets == steps[-1].targets  # no limit has changed
        facts = [f for f, _ in practised(store, StudentKey(context.student_id, "Robin"), ())]
        assert {f.drill for f in facts} == {None}
