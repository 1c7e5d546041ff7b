"""While strokes are watched: homework shown, begun with one key and ticked off; a card once by itself and on a key."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Sequence

import pytest

from tests.support.practice_stage import PICTURE, Stage, StageDisplay, Watches, joined, positions, stroke
from trainer.app.context import load_context
from trainer.app.homework import HomeworkRequest, drop_homework, set_homework, show_homework
from trainer.app.practice.drill_sequence import drill_sequence
from trainer.app.practice.practice_session import PracticePlan, PracticeSession
from trainer.coaching.gestures import Order
from trainer.commands.cli import run
from trainer.commands.lesson import lesson_strokes
from trainer.domain.observation import Frame, Observation
from trainer.domain.verdict import FAULT_NAMES
from trainer.errors import SettingsError, UsageError
from trainer.feedback.cues import READY
from trainer.live.practice_step import PracticeStep
from trainer.store.history import StudentKey, practised
from trainer.store.outcomes import outcomes_of
from trainer.store.reasons_shown import cards_shown
from trainer.store.store import Store

SHORT = """\
[drill]
name = "Short one"
instruction = "Two strokes"
[block]
strokes = 2
silent_strokes = 0
[feedback]
schedule = "every"
"""
STALL = {"stall_deg": 26.0, "stall_s": 0.4, "stop_s": 0.14}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    assert run(["--data-folder", str(tmp_path), "students", "add", "Robin"]) == 0
    (tmp_path / "drills").mkdir()
    (tmp_path / "drills" / "short.toml").write_text(SHORT)
    return tmp_path


def watched(
    folder: Path, store: Store, seen: Sequence[Observation], keys: dict[float, Order] | None = None
) -> tuple[PracticeSession, list[PracticeStep]]:
    """keys: time -> order by key."""
    context = load_context(folder, "Robin")
    session = PracticeSession(PracticePlan(context, "made up", drill_sequence(context)), store)
    session.start(Watches(seen))
    due, steps = dict(keys or {}), []
    for one in seen:
        for time_s in [t for t in due if t <= one.time_s]:
            session.order(due.pop(time_s))
        steps.append(session.step(Frame(one.index, one.time_s, PICTURE), None))
    return session, steps


def said(steps: Sequence[PracticeStep]) -> list[str]:
    return [line for step in steps for line in step.messages]


def test_homework_is_shown_begun_with_one_key_and_ticked_off(folder: Path) -> None:
    context = load_context(folder)
    set_homework(context, HomeworkRequest("Robin", "short", days_a_week=2, who="coach"))
    with context.open_store() as store:
        seen = joined(stroke(1.4), stroke(1.4), stroke(1.4), stroke(1.4))
        session, steps = watched(folder, store, seen, {8.0: "homework"})
        assert "homework: Short one, 2 strokes on 2 days a week until" in session.opening[0]
        assert "H begins it" in session.opening[0]
        first = steps[5].state.sign
        assert first is not None
        assert first.word == "Homework: Short one"
        lines = said(steps)
        assert "Short one: Two strokes" in lines
        done = [i for i, line in enumerate(lines) if line.startswith("homework done for today: Short one")]
        assert len(done) == 1
        # The first stroke was free practice and did not count, the two after the key did.
        assert sum("stroke" in line for line in lines[: done[0]]) >= 2
        again, _ = watched(folder, store, stroke(1.4))
        assert "done for today" in again.opening[0]
        assert "H begins" not in again.opening[0]
    name, shown = show_homework(context, "robin")
    assert name == "Robin"
    assert (shown[0].progress.state, shown[0].progress.today) == ("done for today", 2)


def test_free_practice_stays_and_a_key_without_homework_says_so(folder: Path) -> None:
    with load_context(folder).open_store() as store:
        session, steps = watched(folder, store, joined(stroke(1.4), stroke(1.4)), {8.0: "homework"})
    assert session.opening == ()
    assert steps[3].state.sign is None
    assert "no homework is due" in said(steps)


def test_homework_is_refused_in_plain_words(folder: Path) -> None:
    context = load_context(folder)
    with pytest.raises(UsageError, match="no student Kim"):
        set_homework(context, HomeworkRequest("Kim", "short"))
    with pytest.raises(SettingsError, match="no drill 'shrot'"):
        set_homework(context, HomeworkRequest("Robin", "shrot"))
    with pytest.raises(UsageError, match="before it begins"):
        set_homework(context, HomeworkRequest("Robin", "short", until=date(2020, 1, 1)))
    with pytest.raises(UsageError, match="no homework 1"):
        drop_homework(context, "Robin", 1)


def test_the_commands_of_homework(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    on = ["--data-folder", str(folder), "homework"]
    assert run([*on, "show", "--student", "Robin"]) == 0
    assert (
        run([*on, "set", "quiet-hands", "--student", "Robin", "--days", "3", "--distance", "2", "--by", "coach"]) == 0
    )
    assert run([*on, "set", "short", "--student", "Robin", "--strokes", "5", "--note", "only [easy] ones"]) == 0
    assert run([*on, "show", "--student", "Robin"]) == 0
    out = capsys.readouterr().out
    assert "no homework for Robin" in out
    assert "homework 1 for Robin: Hands carry on from 2 m, 34 strokes on 3 days a week until" in out
    assert "only [easy] ones" in out
    assert run(["--data-folder", str(folder), "students", "show", "Robin"]) == 0
    assert "strokes on 3 days a week" in " ".join(capsys.readouterr().out.split())
    assert run([*on, "drop", "1", "--student", "Robin"]) == 0
    assert run([*on, "show", "--student", "Robin"]) == 0
    assert "dropped" in capsys.readouterr().out
    assert run([*on, "drop", "9", "--student", "Robin"]) == 2
    assert run([*on, "set", "short", "--student", "Robin", "--until", "yesterday"]) == 2


def test_a_card_comes_once_by_itself_with_the_eyes_up_and_never_again(folder: Path) -> None:
    with load_context(folder).open_store() as store:
        _, steps = watched(folder, store, joined(stroke(1.4, **STALL), positions(("down", 9.0))))
        with_card = [step for step in steps if step.state.card is not None]
        assert {step.state.card.name for step in with_card if step.state.card} == {"hand_stall"}
        assert not any(step.result is not None and step.result.moment.phase.eyes_down for step in with_card)
        assert any("hand-stall` tells why" in line for line in said(steps))
        student = load_context(folder, "Robin").student_id
        assert cards_shown(store, student) == {"hand_stall"}
        _, steps = watched(folder, store, joined(stroke(1.4, **STALL), positions(("down", 9.0))))
        assert all(step.state.card is None for step in steps)
        assert not any("for the first time" in line for line in said(steps))


def test_the_key_shows_the_card_of_the_last_fault_and_puts_it_away_but_not_over_a_stroke(folder: Path) -> None:
    with load_context(folder).open_store() as store:
        seen = joined(stroke(1.4, **STALL), stroke(1.4))
        # Pressed in the middle of the first stroke it waits for its end; again before the second, and it goes.
        _, steps = watched(folder, store, seen, {2.4: "why", 8.0: "why"})
        shown = [step for step in steps if step.state.card is not None]
        assert shown
        for step in shown:
            assert step.result is not None
            assert not step.result.moment.phase.swinging
        times = [step.state.observation.time_s for step in shown if step.state.observation is not None]
        assert max(times) < 8.1


def test_the_strokes_of_a_lesson_are_silent_and_end_by_themselves(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    context = load_context(folder)
    set_homework(context, HomeworkRequest("Robin", "short"))
    assert run(["--data-folder", str(folder), "lesson", "begin", "--student", "Robin"]) == 0
    display = StageDisplay()
    stage = Stage(joined(*[stroke(-0.4, **STALL)] * 5), display)
    assert lesson_strokes(folder, "Robin", 4, machine=stage.machine) == 0
    said_to_coach = capsys.readouterr().out
    assert "strokes without feedback: 4 before, 0 after" in said_to_coach
    assert "proposed: in 4 of 4 strokes" in said_to_coach
    assert not [name for _, name in stage.tones.played if name in FAULT_NAMES]
    signs = {view.sign.word for view in display.views if view.sign is not None}
    assert signs <= {"Stroke kept"}
    assert all(view.card is None for view in display.views)
    with context.open_store() as store:
        key = StudentKey(load_context(folder, "Robin").student_id, "Robin")
        assert [facts.told for facts, _ in practised(store, key, ())] == [False] * 4


def test_where_the_ball_went_by_key_and_by_command(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    on = ["--data-folder", str(folder)]
    context = load_context(folder, "Robin")
    key = StudentKey(context.student_id, "Robin")
    with context.open_store() as store:
        # Before any stroke it is refused; in the middle of the second it waits for that stroke's end.
        _, steps = watched(
            folder, store, joined(stroke(1.4), stroke(1.4)), {0.1: "holed", 6.8: "holed", 9.5: "left side"}
        )
        lines = said(steps)
        assert "no ball stroke yet whose ball could have gone anywhere" in lines
        assert [line for line in lines if line.startswith("the ball")] == ["the ball: holed", "the ball: left"]
        noted = [any(line.startswith("the ball: ") for line in step.messages) for step in steps]
        assert [step.sound == READY for step in steps] == noted  # a sound confirms what was noted, and nothing else
        assert [one.where for one, _ in outcomes_of(store, key).values()] == ["holed", "left"]
    assert run([*on, "outcome", "short", "--student", "Robin", "--distance", "3"]) == 0
    assert ": short, 3 m" in capsys.readouterr().out
    assert run([*on, "outcome", "long", "--student", "Robin"]) == 0  # the distance said before stands
    assert ": long, 3 m" in capsys.readouterr().out
    assert run([*on, "outcome", "long", "--student", "Robin", "--stroke", "99"]) == 2
    assert "no ball stroke 1/99 of Robin" in capsys.readouterr().err
    assert run([*on, "progress", "--student", "Robin"]) == 0
    assert "Holed, 1.5 to 3 m: with the hold 0 of 1" in capsys.readouterr().out
    out = str(folder / "robin.zip")
    assert run([*on, "students", "export", "Robin", "--out", out]) == 0
    elsewhere = ["--data-folder", str(folder / "elsewhere")]
    for new in (True, False):
        capsys.readouterr()
        assert run([*elsewhere, "students", "import", out]) == 0
        assert ("2 new or changed" in capsys.readouterr().out) == new
    with load_context(folder / "elsewhere").open_store() as there, context.open_store() as here:
        assert outcomes_of(there, key) == outcomes_of(here, key)
    page = folder / "robin.html"
    assert run([*on, "report", "--student", "Robin", "--out", str(page)]) == 0
    text = page.read_text(encoding="utf-8")
    assert "Does the hold pay?" in text
    assert "1 long / none" in text


def test_the_distance_of_the_homework_is_that_of_its_putts(folder: Path) -> None:
    context = load_context(folder, "Robin")
    set_homework(context, HomeworkRequest("Robin", "short", distance_m=1.2))
    with context.open_store() as store:
        _, steps = watched(folder, store, joined(stroke(1.4), stroke(1.4)), {0.1: "homework", 6.8: "holed"})
    assert "the ball: holed, 1.2 m" in said(steps)
