"""Tasks of the start window, each through its page: what they leave is what their commands show."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.made_address import STILLS, Still, picture, points
from tests.support.made_strokes import keep_sessions
from tests.support.practice_stage import joined, stroke
from tests.support.start_stage import StartStage
from trainer.app.context import load_context
from trainer.app.start.memory import DONE, StartMemory, remember_start
from trainer.app.students import add_student
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.testing.fakes import FakeClock
from trainer.ui.start.page import Table, Words


@pytest.fixture
def stage(tmp_path: Path) -> StartStage:
    base = tmp_path / "data"
    add_student(load_context(base), "Robin", {"player.height_cm": 172})
    remember_start(base, StartMemory("Robin", DONE))
    (tmp_path / "files").mkdir()
    return StartStage(base, tmp_path / "files")


def told(stage: StartStage, capsys: pytest.CaptureFixture[str], *command: str) -> str:
    """What a command prints of the same data folder."""
    capsys.readouterr()
    assert stage.desk.folder is not None
    assert run(["--data-folder", str(stage.desk.folder), *command]) == 0
    return capsys.readouterr().out


def words(stage: StartStage) -> str:
    return "\n".join(one.text for one in stage.window.page.body if isinstance(one, Words))


def fill(stage: StartStage, field: str, text: str) -> None:
    stage.tab_to(field)
    stage.type(text)


def test_homework_is_set_begun_and_taken_back(stage: StartStage, capsys: pytest.CaptureFixture[str]) -> None:
    stage.press("Homework")
    stage.press("Set homework")
    stage.click("Still head")
    stage.click("2")
    fill(stage, "Strokes a day", "12")
    fill(stage, "Set by", "coach")
    stage.press("Save")
    assert stage.title == "Robin: homework"
    shown = told(stage, capsys, "homework", "show", "--student", "Robin")
    assert "Still head, 12 strokes on 2 days a week" in shown
    assert "by coach" in shown
    begin = next(one for one in stage.words if one.startswith("Begin: Still head"))
    stage.putt(joined(stroke(1.3)))
    stage.press(begin)
    assert stage.title == "Robin: 1 stroke"
    stage.click("Start page")
    assert "Still head, 12 strokes" in stage.words  # it is due, one press away
    stage.press("Homework")
    assert "today 1 of 12 strokes" in told(stage, capsys, "homework", "show", "--student", "Robin")
    stage.click(next(one for one in stage.words if one.startswith("Take it back")))
    assert "dropped" in told(stage, capsys, "homework", "show", "--student", "Robin")


def test_a_missing_name_is_asked_for_and_typed_at_once(stage: StartStage) -> None:
    stage.press("Change player")
    stage.press("Add somebody")
    stage.press("Save")
    assert stage.said == "Name: write a name first"
    stage.type("Anna")
    stage.press("Save")
    assert stage.title == "Anna"


def test_after_practice_each_stroke_is_told_once(stage: StartStage) -> None:
    stage.putt(joined(stroke(1.3), stroke(-0.4)))
    stage.press("Free practice")
    assert stage.title == "Robin: 2 strokes"
    table = next(one for one in stage.window.page.body if isinstance(one, Table))
    assert [row[-1] for row in table.rows[:2]] == ["no fault", "early look"]
    assert "stroke 1" not in words(stage)
    assert "stroke 2" not in words(stage)


def test_a_lesson_goes_through_its_steps(stage: StartStage, capsys: pytest.CaptureFixture[str]) -> None:
    stage.press("Lesson")
    fill(stage, "Set by", "coach")
    stage.press("Begin a lesson")
    stage.putt(joined(stroke(-0.4)))
    stage.press("Strokes as they are")
    assert "strokes without feedback: 1 before, 0 after" in words(stage)
    fill(stage, "About", "early look")
    stage.press("It is about this")
    fill(stage, "What was tried", "chin down")
    stage.press("Note it")
    fill(stage, "Words to take home", "Wait for the putter")
    stage.press("Keep the words")
    stage.press("The page to take home")
    page = Path(stage.said.removeprefix("wrote "))
    assert page.parent == stage.desk.saving
    assert "Wait for the putter" in page.read_text(encoding="utf-8")
    assert words(stage).splitlines() == told(stage, capsys, "lesson", "show", "--student", "Robin").splitlines()
    stage.key("escape")
    assert "Go on with the lesson" in stage.words
    stage.press("Go on with the lesson")
    stage.press("End the lesson")
    assert stage.words[1:] == ["Set by", "Begin a lesson"]


def test_distance_green_putts_and_scale(stage: StartStage, capsys: pytest.CaptureFixture[str]) -> None:
    stage.press("Distance")
    stage.press("Distances in metres")
    fill(stage, "Green speed, ft", "9,5")
    stage.press("Set the green")
    assert stage.said.startswith("green speed 9.5 ft")
    fill(stage, "It rolled", "3.1")
    fill(stage, "Backstroke, cm", "30")
    stage.press("Enter a putt")
    assert stage.said.startswith("putt 1 kept")
    assert stage.window.shown.values["rolled"] == ""  # ready for the next one
    shown = told(stage, capsys, "distance", "scale", "--student", "Robin")
    assert shown.splitlines() == words(stage).splitlines()[1:]
    stage.press("The chart")
    assert any(isinstance(one, Table) for one in stage.window.page.body)


def test_before_play_keeps_the_green_first(stage: StartStage) -> None:
    stage.press("Distance")
    stage.press("Distances in feet")
    stage.key("escape")
    stage.press("Before play")
    fill(stage, "Green speed, ft", "11")
    stage.putt(joined(stroke(1.3)))
    stage.press("Begin")
    assert stage.title == "Robin: 1 stroke"
    stage.click("Start page")
    stage.press("Distance")
    assert "on a green of 11.0 ft" in words(stage)


def test_a_baseline_proposes_and_sets_limits(stage: StartStage, capsys: pytest.CaptureFixture[str]) -> None:
    context = load_context(stage.desk.folder, "Robin")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, sessions=2)
    stage.press("Limits from a baseline")
    stage.putt(joined(stroke(1.3, "rehearsal")))
    stage.press("Make them now")
    assert "from 1 rehearsal strokes" in words(stage)
    stage.key("escape")
    stage.press("From strokes on record")
    assert "from 8 rehearsal strokes" in words(stage)
    fill(stage, "Set by", "coach")
    stage.press("Set these limits")
    assert (stage.title, stage.said) == ("Robin", "limits set")
    assert "coach" in told(stage, capsys, "limits", "--student", "Robin", "--history")


def test_posture_is_judged_from_a_picture(stage: StartStage) -> None:
    image = picture("s04")
    stage.bodies = lambda: Still(points("s04"), image)
    stage.desk.looking = STILLS
    stage.press("How you stand")
    stage.press("From a picture or clip")
    stage.click("s04.jpg")
    assert stage.title == "s04.jpg"
    assert any(isinstance(one, Table) and one.rows for one in stage.window.page.body)
    assert stage.picture().any()


def test_posture_live_keeps_a_picture(stage: StartStage) -> None:
    image = picture("s04")
    stage.bodies = lambda: Still(points("s04"), image)
    stage.show([Frame(k, k / 30, image) for k in range(12)])
    stage.press("How you stand")
    stage.press("Look and keep it")
    assert stage.title == "How you stand"
    assert not stage.window.shown.wrong


def test_the_check_finds_what_there_is(stage: StartStage) -> None:
    image = picture("s03")
    stage.bodies = lambda: Still(points("s03"), image)
    stage.show([Frame(k, k / 30, image) for k in range(90)])
    stage.desk.clock = FakeClock()
    stage.press("Check everything")
    table = next(one for one in stage.window.page.body if isinstance(one, Table))
    assert {"Camera", "Sound", "Disk"} <= {row[1] for row in table.rows}


def test_a_card_leads_to_its_drill(stage: StartStage) -> None:
    stage.press("Why: cards")
    stage.click("Still head")
    stage.putt(joined(stroke(1.3)))
    stage.press("Begin")
    assert stage.title == "Robin: 1 stroke"


def test_students_are_renamed_and_switched(stage: StartStage, capsys: pytest.CaptureFixture[str]) -> None:
    stage.press("Change player")
    stage.press("Change Robin")
    fill(stage, "Name", "son")
    stage.click("left-handed")
    stage.click("lead")
    stage.click("held at belly, chest or arm")
    stage.click("from a chair")
    stage.press("Save")
    assert stage.title == "Robinson"
    player = load_context(stage.desk.folder, "Robinson").settings.player
    assert (player.grip, player.long_putter, player.seated) == ("lead hand low", True, True)
    shown = told(stage, capsys, "students", "show", "Robinson")
    assert "left-handed" in shown
    assert "172 cm" in shown


def test_a_set_up_without_a_picture_is_no_success(stage: StartStage) -> None:
    stage.bodies = lambda: Still(points("s04"), picture("s04"))
    stage.press("Set up camera")
    assert "no picture came" in stage.said
    assert stage.window.shown.wrong


def test_a_set_up_that_was_ended_early_has_no_tick(stage: StartStage) -> None:
    image = picture("s04")
    stage.bodies = lambda: Still(points("s04"), image)
    stage.show([Frame(k, k / 30, image) for k in range(100)])
    stage.press("Set up camera")
    assert stage.said.startswith("not all is well yet")
    assert stage.window.shown.wrong


def test_homework_proposes_what_is_due_or_the_first_drill(stage: StartStage) -> None:
    stage.press("Homework")
    stage.press("Set homework")
    assert stage.window.shown.values["drill"] == "hold-then-look"


def test_a_clip_that_cannot_be_read_is_told(stage: StartStage, tmp_path: Path) -> None:
    (tmp_path / "files" / "torn.mp4").write_bytes(b"no clip")
    stage.press("Open a clip")
    stage.click("torn.mp4")
    assert "torn.mp4" in stage.said
    assert stage.window.shown.wrong
