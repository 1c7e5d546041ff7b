"""A drill in which the player chooses the length himself and guesses before he is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.practice_stage import PICTURE, Watches, joined, stroke
from trainer.app.context import load_context
from trainer.app.practice.drill_sequence import drill_sequence
from trainer.app.practice.practice_session import PracticePlan, PracticeSession
from trainer.app.progress import guessed
from trainer.coaching.drills import Run
from trainer.coaching.gestures import Order
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.errors import SettingsError
from trainer.live.practice_step import PracticeStep
from trainer.settings.drill_file import load_drill
from trainer.store.distance import Distances


def practised(folder: Path, drill: str, answers: list[Order]) -> tuple[list[PracticeStep], list[str]]:
    """Steps and lines of as many strokes, each answered 0.6 s after it came to rest."""
    context = load_context(folder)
    seen = joined(*[stroke(2.0) for _ in answers])
    with context.open_store() as store:
        sequence = drill_sequence(context)
        plan = PracticePlan(context, "made up", sequence, load_drill(drill, drills_folders(folder)))
        session = PracticeSession(plan, store).start(Watches(seen))
        steps, left, due = [], list(answers), None
        for one in seen:
            step = session.step(Frame(one.index, one.time_s, PICTURE), None)
            steps.append(step)
            assert step.result is not None
            if "settle_s" in step.result.moment.new_events:
                due = one.time_s + 0.6
            if due is not None and one.time_s >= due and left:
                session.order(left.pop(0))
                due = None
        last = session.finish()
        lines = [line for step in steps for line in step.messages] + list(last.messages if last else ())
        return steps, lines


def drills_folders(folder: Path) -> tuple[Path, ...]:
    from trainer.resources import data_path

    return folder / "drills", data_path("config", "drills")


def putts(folder: Path) -> list[tuple[str | None, float]]:
    with load_context(folder).open_store() as store:
        return [(one.putt.guess, one.putt.slope_pct) for one in Distances(store).putts("player")]


@pytest.fixture
def green(tmp_path: Path) -> Path:
    for words in (("unit", "m"), ("green", "9")):
        assert run(["--data-folder", str(tmp_path), "distance", *words]) == 0
    return tmp_path


def test_the_length_is_hidden_until_the_guess_and_told_after_it(green: Path) -> None:
    steps, lines = practised(green, "choose-and-guess", ["guess short", "good", "guess long"])
    before = [s.state for s in steps if s.state.gestures is not None and s.state.gestures.asks]
    assert before
    assert {s.gestures.question for s in before if s.gestures is not None} == {"guess"}
    assert all(s.sign is None for s in before)  # the result waits
    told = [s.state.drill for s in steps if s.state.drill is not None]
    assert all(view.mark_cm is None for view in told)
    assert all(view.distance.startswith("for ") and "cm" not in view.distance for view in told)
    assert any("you said short" in view.last for view in told)
    signs = {s.state.sign.detail for s in steps if s.state.sign is not None}
    assert any("the chart" in detail for detail in signs), signs
    assert [guess for guess, _ in putts(green)] == ["short", "right", "long"]
    assert sum(line.startswith("you said") for line in lines) == 3


def test_without_an_answer_the_result_comes_and_nothing_is_noted(green: Path) -> None:
    steps, _ = practised(green, "choose-and-guess", ["why"])
    assert [guess for guess, _ in putts(green)] == [None]
    assert any(s.state.sign is not None for s in steps) or steps[-1].finished is None


def test_up_and_down_come_mixed_and_are_kept_with_the_putt(green: Path) -> None:
    drill = load_drill("choose-up-and-down", drills_folders(green))
    slopes = [Run(drill, seed=seed).slope_pct for seed in range(40)]
    assert set(slopes) == {-2.0, 2.0}
    steps, _ = practised(green, "choose-up-and-down", ["guess right", "guess right"])
    words = {s.state.drill.distance for s in steps if s.state.drill is not None}
    assert all("up" in word or "down" in word for word in words), words
    assert {slope for _, slope in putts(green)} <= {-2.0, 2.0}


def test_progress_says_how_well_he_knows(green: Path) -> None:
    practised(green, "choose-and-guess", ["guess short", "guess short", "guess short", "guess short", "guess short"])
    with load_context(green).open_store() as store:
        (line,) = guessed([one.putt for one in Distances(store).putts("player")])
    assert line.startswith("How far it ran, guessed right ")


def test_guesses_need_distances(tmp_path: Path) -> None:
    (tmp_path / "drills").mkdir()
    text = '[drill]\nname = "x"\ninstruction = "y"\n[ladder]\nguess = true\n'
    (tmp_path / "drills" / "x.toml").write_text(text)
    with pytest.raises(SettingsError, match="guess: needs distances_m"):
        load_drill("x", drills_folders(tmp_path))
