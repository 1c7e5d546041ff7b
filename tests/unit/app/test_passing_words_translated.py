"""What a drill, a replay and the rest of a run say in passing is told in the reader's language."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timezone
from pathlib import Path

import numpy as np
import pytest

from tests.support.marker import MARKER, latin_in
from tests.support.review_clips import HELD, figure
from tests.unit.coaching.test_described import sessions
from trainer.app.outcome import outcome_words
from trainer.app.practice.drill_result import Putted, drill_sign
from trainer.coaching import drill_words
from trainer.coaching.distance.guesses import GUESS_WORDS
from trainer.coaching.distance.ladder import PLACE_WORDS
from trainer.coaching.drills import Run, judged
from trainer.coaching.posture.hints import PARTS, player_hints
from trainer.coaching.posture.scale_reference import BY_WORDS
from trainer.coaching.progress.described import described
from trainer.coaching.verdict import Verdict
from trainer.domain.measures import MEASURES
from trainer.domain.observation import Frame, Observation
from trainer.domain.outcome import WHERE, PuttOutcome, Where
from trainer.domain.record import Events, Measure, Signals, StrokeRecord
from trainer.errors import UsageError
from trainer.languages import LANGUAGES
from trainer.live.guarded_observer import GuardedObserver
from trainer.replay.align import align
from trainer.replay.derived_signals import DerivedSignals
from trainer.replay.lines import drawn_at
from trainer.replay.playback import LOOPS, Loaded, Playback
from trainer.replay.retention import tidy
from trainer.settings.drill_file import Drill
from trainer.store.students import Students
from trainer.texts import in_language

NO_SIGNALS = Signals(np.array([0.0]), np.array([0]), {})


def left_in(*texts: str) -> list[str]:
    """What is still Latin of them."""
    return [told for text in texts if latin_in(told := in_language(text, MARKER))]


def drill(**tables: object) -> Drill:
    head = {"name": "1", "instruction": "2"}
    return Drill.model_validate({"drill": head, "drill_id": "3", **tables})


def test_every_goal_that_a_stroke_misses_or_does_not_show() -> None:
    goals = {name: {"at_least": spec.goal[1]} for name, spec in MEASURES.items() if spec.goal is not None}
    run = Run(drill(goals=goals))
    low = {name: Measure(MEASURES[name].goal[0], MEASURES[name].unit, 1.0) for name in goals}  # type: ignore[index]
    for measures in (low, {}):
        mark = judged(run, measures, Verdict(), None)
        assert len(mark.why) == len(goals)
        assert not left_in(*(why.replace("cm", "") for why in mark.why))


def test_a_goal_is_told_as_finely_as_its_measure() -> None:
    """To one decimal a rhythm of 2.64 would read as if it met a goal of 2.6."""
    run = Run(drill(goals={"tempo_ratio": {"at_most": 2.6}}))
    mark = judged(run, {"tempo_ratio": Measure(2.64, "1", 1.0)}, Verdict(), None)
    assert mark.why == ("rhythm 2.64, at most 2.6",)


@pytest.mark.parametrize("back_cm", [None, 40.0])
def test_the_sign_of_a_distance_drill(back_cm: float | None) -> None:
    asked = drill(ladder={"distances_m": [8.0], "order": "blocked"}, **{"pass": {"faults": []}})
    record = StrokeRecord("ball", Events(), {"back_cm": Measure(back_cm, "cm", 1.0)}, NO_SIGNALS)
    sign = drill_sign(Run(asked), record, Verdict(), Putted(11.5, "m", 37.0))
    assert not left_in(sign.word, sign.detail)


def test_short_words_that_other_texts_are_made_of() -> None:
    assert not left_in(*GUESS_WORDS.values(), *PLACE_WORDS.values(), *BY_WORDS.values())


def test_the_silent_test_is_announced_as_what_is_now() -> None:
    """Not by changing a word of what is said of it before, which other languages do not have."""
    block = drill(block={"strokes": 4, "silent_strokes": 2})
    line = drill_words.silence_line(Run(block))
    assert line.startswith("now ")
    assert in_language(line, LANGUAGES["de"]).startswith("jetzt ")


def test_whether_a_measure_has_changed() -> None:
    rows = [row.cells[4] for shift in (0.0, 30.0) for row in described(sessions(1, shift))]
    assert {"changed", "as before"} <= set(rows)
    assert not left_in(*rows)


def test_where_a_replay_is_and_what_it_draws() -> None:
    tracked = DerivedSignals(figure(HELD).record)
    drawn = drawn_at(tracked, tracked.sample(2.0), ("outline",))
    assert len(drawn.labels) == 2
    playback = Playback(Loaded(figure(HELD), tracked))
    said = [label.words for label in drawn.labels]
    for _ in LOOPS:
        playback.do("loop")
        said.append(playback.message)
    without = replace(figure(HELD), record=replace(figure(HELD).record, events=Events(impact_s=2.0)))
    lost = Playback(Loaded.of(without))
    lost.do("top")
    with pytest.raises(UsageError) as refused:
        align(figure(HELD), without, "top")
    assert not left_in(*said, lost.message, refused.value.what.replace(HELD, ""))


def test_what_becomes_of_videos(tmp_path: Path) -> None:
    folder = tmp_path / "students" / "files" / "nobody"
    folder.mkdir(parents=True)
    (folder / f"{1:032x}.mp4").write_bytes(b"")
    gone = tidy(tmp_path, 1.0, 0.0, datetime(2100, 1, 1, tzinfo=timezone.utc))
    assert gone is not None
    assert not left_in(gone.replace("MB", ""))


def test_students_that_are_not_there(tmp_path: Path) -> None:
    students, todo = Students(tmp_path), []
    for known, name in ((), "Kim"), (("Robin",), "Robim"), (("Robin",), "Kim"):
        for one in known:
            if one not in students.names():
                students.add(one, "0" * 32, {})
        with pytest.raises(UsageError) as refused:
            students.find(name)
        todo.append(refused.value.todo)
    assert not left_in(*(text.replace("Robin", "") for text in todo))


def test_parts_of_the_player_that_are_out_of_the_picture() -> None:
    seen = {name: (300.0, 200.0, 1.0) for names in PARTS.values() for name in names}
    for cut in PARTS:
        points = {**seen, **dict.fromkeys(PARTS[cut], (300.0, -40.0, 1.0))}
        hint = player_hints(points, (640, 480))[0]
        assert "out of view" in hint.what
        assert not left_in(hint.what, hint.todo)


class Broken:
    """Fails at every frame."""

    def find_body(self, frame: Frame) -> None:
        return

    def look(self, frame: Frame, found: object) -> Observation:
        raise KeyError("12")


def test_a_fault_of_this_program_in_one_picture() -> None:
    seen = GuardedObserver(Broken()).look(Frame(0, 0.0, None), None)
    (told,) = seen.advice
    assert not left_in(told.replace("KeyError", ""))


@pytest.mark.parametrize("where", WHERE)
def test_where_a_putt_went(where: Where) -> None:
    assert left_in(outcome_words(PuttOutcome(where)), outcome_words(PuttOutcome(where, 3.0))) == []
