"""Strokes under a wrong name, and one student under two, put right from the start window's pages as by the commands."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.support.made_strokes import keep_sessions
from tests.support.practice_stage import joined, stroke
from tests.support.start_pages import SIZES
from tests.support.start_stage import StartStage, words_of
from trainer.app.context import load_context
from trainer.app.start.memory import DONE, StartMemory, remember_start
from trainer.app.students import SetRequest, add_student, list_students, set_student
from trainer.commands.cli import run
from trainer.languages import LANGUAGES
from trainer.texts import shown, speaking
from trainer.ui.start import texts
from trainer.ui.start.page import Words

STROKE, SESSION = 0, 1  # columns of names, by their place
SECOND = "1/3"  # the list's second stroke as the command takes it


def made(base: Path, *names: str, chosen: str | None = "Robin") -> Path:
    """Students, of whom Robin has two sessions of four strokes."""
    for name in names:
        add_student(load_context(base), name, {})
    context = load_context(base, "Robin")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, 2, 4)
    remember_start(base, StartMemory(chosen, DONE))
    return base


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return made(tmp_path / "data", "Kim", "Robin")


def wrong_name(folder: Path, size: tuple[int, int] = (1024, 600), scale: float = 1.0) -> StartStage:
    """At the page of the list's second stroke, and on from there."""
    stage = StartStage(folder, folder.parent, size, scale)
    stage.press(texts.AGAIN)
    stage.type("2")
    stage.press(texts.WRONG_NAME)
    return stage


def press(stage: StartStage, words: str, place: int = 0) -> None:
    """By the keyboard, of several of the same words the one at that place."""
    wanted = [item.of for item in stage.items() if words_of(item) == words][place]
    for _ in stage.items():
        if stage.focused is not None and stage.focused.of is wanted:
            stage.key("return")
            return
        stage.key("tab")
    raise AssertionError(f"{words} is not reached by Tab")


def strokes(folder: Path) -> dict[str, int]:
    return {student.name: counts.strokes for student, counts in list_students(load_context(folder)).students}


def words(stage: StartStage) -> list[str]:
    return [one.text for one in stage.window.page.body if isinstance(one, Words)]


def printed(folder: Path, capsys: pytest.CaptureFixture[str], *command: str) -> str:
    capsys.readouterr()
    assert run(["--data-folder", str(folder), *command]) == 0
    return capsys.readouterr().out.strip()


def commanded(folder: Path, capsys: pytest.CaptureFixture[str], *command: str) -> tuple[str, list[str]]:
    """What a command says, and what is on record then, of a copy of the data."""
    copy = folder.parent / "copy"
    shutil.copytree(folder, copy)
    return printed(copy, capsys, "students", *command), listed(copy, capsys)


def listed(folder: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    return [printed(folder, capsys, "strokes", "--student", name).replace(str(folder), "") for name in strokes(folder)]


def test_a_stroke_is_given_by_mouse_as_by_the_command(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said, on_record = commanded(folder, capsys, "give", SECOND, "--from", "Robin", "--to", "Kim")
    stage = wrong_name(folder)
    stage.click("Kim")
    assert (stage.title, words(stage)) == ("Done", [said])
    assert listed(folder, capsys) == on_record
    stage.click("Go on")
    assert (stage.title, strokes(folder)) == ("Strokes", {"Kim": 1, "Robin": 7})
    stage.key("escape")
    assert stage.title == "Robin"


def test_a_session_is_given_by_the_keyboard_as_by_the_command(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said, on_record = commanded(folder, capsys, "give", "1/all", "--from", "Robin", "--to", "Kim")
    stage = wrong_name(folder)
    press(stage, "Kim", SESSION)
    assert (stage.title, words(stage)) == ("Done", [said])
    assert listed(folder, capsys) == on_record
    assert strokes(folder) == {"Kim": 4, "Robin": 4}
    stage.press("Start page")
    assert stage.title == "Robin"


@pytest.mark.parametrize(("words_of_it", "which"), [("This stroke", SECOND), ("The whole session", "1/all")])
def test_what_is_taken_out_is_asked_for_once_more(
    folder: Path, capsys: pytest.CaptureFixture[str], words_of_it: str, which: str
) -> None:
    said, on_record = commanded(folder, capsys, "remove", which, "--from", "Robin", "--yes")
    stage = wrong_name(folder)
    press(stage, words_of_it)
    stage.key("return")  # what a key does at once is to leave it
    assert (stage.title, strokes(folder)) == ("Wrong name?", {"Kim": 0, "Robin": 8})
    stage.click(words_of_it)
    assert (
        said.removesuffix(": taken out of the record") in words(stage)[0]
    )  # what will go, as it is said once it has gone
    stage.press("Take it out now")
    assert (stage.title, words(stage)) == ("Done", [said])
    assert listed(folder, capsys) == on_record
    stage.key("escape")
    assert stage.title == "Strokes"


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_key_pressed_once_too_often_gives_nothing(folder: Path, scale: float) -> None:
    stage = wrong_name(folder, scale=scale)
    assert stage.focused is not None
    assert (words_of(stage.focused), stage.focused.fixed) == ("Leave it as it is", True)  # it is in view
    stage.key("return")
    assert strokes(folder) == {"Kim": 0, "Robin": 8}


def test_who_is_missing_is_added_on_the_way(tmp_path: Path) -> None:
    """And whoever was chosen stays so."""
    folder = made(tmp_path / "data", "Robin")
    stage = wrong_name(folder)
    assert words(stage)[-1] == "Nobody else is known here yet. Add whoever it was."
    assert stage.words == ["‹ Back", *2 * ["Add somebody"], "This stroke", "The whole session", "Leave it as it is"]
    stage.press("Add somebody")
    stage.type("Alex")
    stage.press("Save")
    assert (stage.title, stage.said, stage.desk.student) == ("Wrong name?", "added Alex", "Robin")
    press(stage, "Alex", STROKE)
    assert strokes(folder) == {"Alex": 1, "Robin": 7}


def test_what_was_practised_without_a_name_is_given_from_its_result(tmp_path: Path) -> None:
    folder = made(tmp_path / "data", "Kim", "Robin", chosen=None)
    stage = StartStage(folder, tmp_path)
    stage.putt(joined(stroke(1.3), stroke(1.4)))
    stage.press("Free practice")
    stage.press("Wrong name?")
    assert words(stage)[0].startswith("Recorded without a name: 2 strokes")
    press(stage, "Kim")
    assert words(stage)[0].endswith("of nobody: now of Kim")
    assert strokes(folder) == {"Kim": 2, "Robin": 8}
    stage.press("Go on")
    assert stage.title == "Nobody chosen"  # the page of strokes that are no longer his is not come back to


def test_what_another_window_took_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stage = wrong_name(folder)
    printed(folder, capsys, "students", "give", SECOND, "--from", "Robin", "--to", "Kim")
    stage.click("Kim")
    assert stage.said.startswith("this is no longer on record under Robin")
    assert stage.window.shown.wrong
    assert strokes(folder) == {"Kim": 1, "Robin": 7}


def test_two_are_made_one_as_by_the_command(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The one who is chosen stays, once it was asked for."""
    context = load_context(folder, "Kim")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, 1, 3, seed=2)
    set_student(context, SetRequest("Kim", {"limits.sway.limit_cm": 3.5}))
    said, on_record = commanded(folder, capsys, "join", "Kim", "Robin", "--yes")
    stage = StartStage(folder, folder.parent)
    stage.press("Change player")
    stage.press("Robin is here twice")
    stage.press("Kim")
    assert "The name Kim goes" in words(stage)[0]
    assert "It cannot be undone" in words(stage)[1]
    stage.key("return")  # what a key does at once is to leave it
    assert (stage.title, strokes(folder)) == ("Who else is Robin?", {"Kim": 3, "Robin": 8})
    stage.click("Kim")
    stage.click("They are one person: join them")
    assert (stage.title, words(stage)) == ("Done", said.splitlines())
    assert listed(folder, capsys) == on_record
    assert strokes(folder) == {"Robin": 11}
    stage.press("Go on")
    assert stage.title == "Who is practising?"
    assert "Robin is here twice" not in stage.words  # there is nobody else


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("language", LANGUAGES)
def test_no_heading_is_cut(folder: Path, size: str, language: str) -> None:
    pixels, scale = SIZES[size]
    stage = wrong_name(folder, pixels, scale)
    with speaking(LANGUAGES[language]):
        for item in stage.window.view.layout(stage.window.shown, pixels).items:
            for line in item.lines if item.kind in ("words", "button") else ():
                wide = stage.view.canvas.width(line, round(item.letters))
                assert wide <= item.box.width + 1, shown(line)
