"""What could not be judged is in no denominator; scores are of what is worked on, all faults together are another line."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from tests.support.made_strokes import record
from trainer.app.context import load_context
from trainer.app.progress import ProgressRequest, student_progress
from trainer.app.strokes import line_words, score_line
from trainer.coaching.progress.facts import MEASURES_READ, StrokeFacts, with_fault, without_fault
from trainer.coaching.progress.summary import progress_of
from trainer.coaching.progress.words import sentences
from trainer.coaching.verdict import Verdict
from trainer.commands.cli import run
from trainer.domain.verdict import FAULT_NAMES, SEEN_FROM, Fault
from trainer.store.history import StudentKey, practised
from trainer.store.stroke_rows import Made

AT = datetime(2026, 3, 1, 12, tzinfo=timezone.utc)
FACE_ON = SEEN_FROM["face-on"]


def stroke(
    number: int, faults: tuple[str, ...] = (), unsure: tuple[str, ...] | None = (), told: bool = True
) -> StrokeFacts:
    at = AT + timedelta(seconds=number)
    return StrokeFacts(
        number, str(number), "s", at, "ball", told, None, None, {"hold_s": 1.2}, faults, asked=FACE_ON, unsure=unsure
    )


def test_three_strokes_from_the_front_say_nothing_of_the_back() -> None:
    three = [stroke(i) for i in range(3)]
    assert with_fault(three, "posture_change") is None  # was: 0 of 3
    assert "posture_change" not in dict(progress_of(three, AT.date(), FAULT_NAMES).faults)
    assert without_fault(three) is not None  # the back is not asked for from there


def test_not_sure_leaves_every_share_and_is_counted_beside() -> None:
    strokes = [stroke(i) for i in range(6)] + [stroke(i, unsure=("hand_stall",)) for i in range(6, 10)]
    found = progress_of(strokes, AT.date(), FAULT_NAMES, ("hand_stall",))
    share = found.score(found.sessions[0])
    assert share is not None
    assert (share.good, share.total, found.unjudged) == (6, 6, 4)
    stalls = dict(found.faults)["hand_stall"]
    assert (stalls.good, stalls.total) == (0, 6)
    looks = dict(found.faults)["early_look"]
    assert (looks.good, looks.total) == (0, 10)  # that one was judged
    said = sentences(found, AT.date())
    assert said[0].startswith("Good (no stopped hands): with feedback 100 % of 6 strokes (")
    assert "Could not be judged, and left out above: 4 ball strokes." in said


def test_scores_are_of_what_is_worked_on() -> None:
    strokes = [stroke(i, ("sway",) if i % 2 else ()) for i in range(20)]
    found = progress_of(strokes, AT.date(), FAULT_NAMES, ("early_look", "short_hold"))
    share = found.score(found.sessions[0])
    assert share is not None
    assert (share.good, share.total) == (20, 20)
    assert found.without_fault is not None
    assert (found.without_fault.good, found.without_fault.total) == (10, 20)
    said = " ".join(sentences(found, AT.date()))
    assert "Held (no early look, no short hold): with feedback 100 % of 20 strokes (" in said
    assert "No fault at all, of those that are judged: 50 % of 20 strokes (" in said
    own = progress_of(strokes, AT.date(), FAULT_NAMES)
    assert own.work == ("sway",)  # the week's, where nothing else says so


def test_a_stroke_of_before_goes_by_what_was_seen_of_it() -> None:
    old = stroke(1, unsure=None)
    assert old.found("recoil") is None
    assert old.good is None
    assert (
        StrokeFacts(1, "1", "s", AT, "ball", True, None, None, {"recoil_cm": 0.2}, (), unsure=None).found("recoil")
        is False
    )


def test_the_record_keeps_what_was_not_judged_and_the_commands_tell_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base = ["--data-folder", str(tmp_path)]
    assert run([*base, "students", "add", "Robin"]) == 0
    context = load_context(tmp_path, "Robin")
    with context.open_store() as store:
        session = store.begin_session("Robin", "t", AT, context.student_id)
        for i in range(12):
            unsure = ("hand_stall",) if i < 3 else ()
            faults = (Fault("early_look", 1.0, 0.3, "s", 0.0),) if i > 7 else ()
            made = Made("hold-then-look", "block", None, unsure)
            store.keep(session, record(1.2), faults, (), context.settings, AT + timedelta(seconds=i), made)
        (line,) = [one for one in store.recent(20) if one.number == 1]
        assert line_words(line) == "not sure: stopped hands"
        facts = practised(store, StudentKey(context.student_id, "Robin"), MEASURES_READ)
        assert facts[0][0].unsure == ("hand_stall",)
        assert facts[0][0].asked == FACE_ON
    found = student_progress(context, ProgressRequest("Robin", as_judged=True)).progress
    assert found.work == ("early_look", "short_hold")  # of the drill
    assert (found.unjudged, found.sessions[0].share and found.sessions[0].share.total) == (0, 9)
    capsys.readouterr()
    assert run([*base, "progress", "--student", "Robin", "--as-judged"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "* no early look, no short hold" in said
    assert "67%" in said  # 8 of 12 without what is worked on
    assert "56%" in said  # 5 of 9 without any fault


def test_the_closing_line_of_practice() -> None:
    early = Verdict((Fault("early_look", 1.0, 0.3, "s", 0.0),))
    strokes = [("ball", Verdict()), ("ball", early), ("rehearsal", early), ("ball", Verdict((), ("recoil",)))]
    assert score_line(strokes) == "without any fault: 1 of 2 ball strokes, 1 not judged"
    assert score_line(strokes[2:3]) == ""
