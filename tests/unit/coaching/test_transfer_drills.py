"""Drills that ask whether the habit stands: another target each time, a second task, a consequence."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from itertools import pairwise
from pathlib import Path

import pytest

from tests.support.made_strokes import record
from trainer.app.context import load_context
from trainer.app.drills import drill_named
from trainer.app.practice.drill_session import DrillSession, with_drill
from trainer.app.practice.stroke_recorder import StrokeRecorder
from trainer.coaching import drill_words as words
from trainer.coaching import drills
from trainer.coaching.faults import verdict
from trainer.coaching.progress.proportions import proportion_of
from trainer.coaching.verdict import Verdict
from trainer.commands.cli import run
from trainer.domain.verdict import Fault
from trainer.errors import SettingsError
from trainer.resources import data_path
from trainer.settings.drill_file import load_drill
from trainer.store.stroke_rows import Made

BUNDLED = data_path("config", "drills")
EARLY = Verdict((Fault("early_look", 1.0, 0.3, "s", 0.0),))
NOW = datetime.now(timezone.utc)


@pytest.mark.parametrize("drill_id", ["one-ball", "count-back"])
@pytest.mark.parametrize("seed", range(4))
def test_another_target_each_time_in_silence_and_where_it_stops_is_not_judged(drill_id: str, seed: int) -> None:
    now = drills.Run(load_drill(drill_id, [BUNDLED]), seed=seed)
    asked: list[float] = []
    numbers = set()
    while now.stage != "done":
        assert words.silent(now)
        assert now.putt_m is not None
        assert words.task_line(now, "m").startswith(f"to {now.putt_m:.1f} m")
        asked.append(now.putt_m)
        numbers.add(now.count_from)
        now = drills.after(now, "ball", {}, Verdict(), rolled_m=99.0)
    assert len(asked) == 14
    assert all(a != b for a, b in pairwise(asked))
    assert set(asked) == set(now.drill.transfer.targets_m)
    assert min(asked) <= 1.5
    assert now.passed_today
    assert (numbers == {None}) == (drill_id == "one-ball")
    if drill_id == "count-back":
        assert all(number is not None and 60 <= number < 100 for number in numbers)
        assert len(numbers) > 5


def test_a_miss_starts_again_and_five_in_a_row_end_it() -> None:
    now = drills.Run(load_drill("start-again", [BUNDLED]))
    assert words.standing_line(now) == "5 good in a row end it; a miss starts again"
    for good in (True, True, True, True, False, True, None, True):
        now = drills.after(now, "ball", {}, Verdict(too_close=True) if good is None else Verdict() if good else EARLY)
    assert (now.running, now.stage) == (2, "block")  # what could not be judged neither counts nor ends it
    assert words.tally_line(now, len(now.marks)) == "2 in a row, 5 end it"
    for _ in range(3):
        now = drills.after(now, "ball", {}, Verdict())
    assert (now.running, now.stage, words.stroke_line(now)) == (5, "done", "5 in a row")
    tired = drills.Run(load_drill("start-again", [BUNDLED]))
    while tired.stage != "done":
        tired = drills.after(tired, "ball", {}, EARLY)
    assert (len(tired.marks), words.stroke_line(tired)) == (20, "Not in a row yet")


def test_what_the_task_costs_claims_no_more_than_its_interval() -> None:
    few = words.lost_line(proportion_of(9, 14), proportion_of(12, 14))
    assert few.startswith("with the task 9 of 14 good, in silence without it 12 of 14: -21 points")
    assert few.endswith("so few strokes cannot tell this from chance")
    assert "chance" not in words.lost_line(proportion_of(3, 14), proportion_of(38, 40))
    assert "once there are silent strokes" in words.lost_line(proportion_of(3, 14), None)


def test_senseless_targets_are_refused(tmp_path: Path) -> None:
    for wrong in ("[2]", "[2, 2]"):
        text = f"[drill]\nname = 'N'\ninstruction = 'I'\n[transfer]\ntargets_m = {wrong}\n"
        (tmp_path / "x.toml").write_text(text, encoding="utf-8")
        with pytest.raises(SettingsError, match="two distances or more, each once"):
            load_drill("x", [tmp_path])


def test_the_session_tells_what_is_lost_and_what_is_to_be_beaten(tmp_path: Path) -> None:
    assert run(["--data-folder", str(tmp_path), "students", "add", "Robin"]) == 0
    context = load_context(tmp_path, "Robin")
    drill = drill_named(tmp_path, "start-again")
    with context.open_store() as store:
        before = NOW - timedelta(days=2)
        earlier = store.begin_session("Robin", "t", before, context.student_id)
        for i in range(14):
            made = Made("hold-then-look", "silent", True, ())
            store.keep(earlier, record(1.4, told=False), (), (), context.settings, before + timedelta(seconds=i), made)
        for i in range(3):  # of a drill that disturbs, the coach's own: no comparison
            made = Made("own-task", "block", False, ("early_look",))
            store.keep(
                earlier, record(1.4, told=False), (), (), context.settings, before + timedelta(seconds=20 + i), made
            )
        for i, good in enumerate((True, True, True, False, True)):
            made = Made("start-again", "block", good, ())
            store.keep(earlier, record(1.4), (), (), context.settings, before + timedelta(minutes=1, seconds=i), made)
        settings = with_drill(context, drill).settings
        recorder = StrokeRecorder(store, "t", context.student_id)
        own = drill.model_copy(update={"drill_id": "own-task"})
        session = DrillSession(recorder, store, settings, drill, {"own-task": own})
        said: list[str] = []
        assert "m" in session.view().distance
        while session.run.stage != "done":
            stroke = record(1.4)
            said += session.save(stroke, verdict(stroke, settings.limits), ())
    assert any(line.startswith("with the task 5 of 5 good, in silence without it 14 of 14") for line in said), said
    assert "in a row: 5 this time, 5 at best, which is to be beaten now" in said
