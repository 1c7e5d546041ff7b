"""The whole story through the start window, with keys and mouse; the record is the one that the commands make."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pygame

from tests.support.made_address import Still, picture, points
from tests.support.practice_stage import Stage, StageDisplay, joined, stroke
from tests.support.start_stage import StartStage, ending
from trainer.app.camera_setup import CameraSetupRequest, remembered, set_up_camera
from trainer.app.context import load_context
from trainer.app.homework import show_homework
from trainer.app.lesson import LessonDesk
from trainer.app.progress import ProgressRequest, student_progress
from trainer.app.student_file import student_key
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.store.history import practised
from trainer.store.limit_changes import limit_changes
from trainer.store.outcomes import outcomes_of
from trainer.store.students import Students
from trainer.testing.fakes import FakeClock
from trainer.ui.camera_setup.setup_view import SetupView
from trainer.ui.review.window import REPEAT_MS
from trainer.ui.start.texts import PLAYED

SEEN = joined(stroke(1.3), stroke(-0.35), stroke(1.5))


def kept(folder: Path, name: str) -> list[Any]:
    """The record of a student without what differs from run to run: ids and moments."""
    with load_context(folder).open_store() as store:
        found = practised(store, student_key(Students(folder).find(name)), ("hold_s", "back_cm", "early_by_s"))
    return [(f.kind, f.told, f.drill, f.stage, dict(f.measures), f.faults, f.too_close, limits) for f, limits in found]


def decided(folder: Path, name: str) -> Any:
    """Limits, who set them and why, where the balls went, and what progress says of it all."""
    context, student = load_context(folder, name), Students(folder).find(name)
    with context.open_store() as store:
        changes = [(one.who, one.why, one.limits) for one in limit_changes(store, student.card.id)]
        went = [outcome.where for outcome, _ in outcomes_of(store, student_key(student)).values()]
    return context.settings.limits, changes, went, student_progress(context, ProgressRequest(name)).sentences


def standing(folder: Path) -> Any:
    """The camera as it was set up."""
    known = remembered(load_context(folder))
    assert known is not None
    return known.model_dump(exclude={"at"})


def taught(folder: Path, name: str) -> Any:
    """Homework and lessons without what differs from run to run: ids and moments."""
    context = load_context(folder, name)
    homework = [(line.task, line.done, line.progress.homework.who) for line in show_homework(context, name)[1]]
    with context.open_store() as store:
        lessons = LessonDesk(context, store, name).all()
    return homework, [(one.who, [tried.note for tried in one.tries], one.words, one.step) for one in lessons]


def words_of(page: Path) -> list[str]:
    """What a page says, without the time of day."""
    text = re.sub(r"<style.*?</style>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\d\d:\d\d", "", re.sub(r"<[^>]*>", " ", text)).split()


def test_the_story_through_the_start_window(tmp_path: Path) -> None:
    here, there, by_command = tmp_path / "here", tmp_path / "there", tmp_path / "by-command"
    stage = StartStage(here, tmp_path)

    # The first time: who, by keys alone.
    assert stage.title == "Who are you?"
    stage.type("Robin")
    stage.tab_to("right-handed")
    stage.key("right")
    stage.key("left")
    stage.tab_to("Height")
    stage.type("5 ft 8 in")
    stage.press("Next")
    assert (stage.title, stage.said) == ("Your camera", "added Robin")

    # Broken off in the middle, it goes on there.
    stage.close()
    stage = StartStage(here, tmp_path)
    assert stage.title == "Your camera"
    image = picture("s03")
    stage.bodies = lambda: Still(points("s03"), image)
    stage.click("Next")
    stage.click("Play a tone")
    assert stage.said == PLAYED
    assert stage.tones.played
    stage.press("I heard it")
    stage.press("Next")

    # Setting up on a camera that shows a still, which ends by itself.
    stage.desk.clock = FakeClock()
    frames = [Frame(k, k / 30, image) for k in range(135)]
    stage.show(frames)
    stage.opened = 0
    stage.click("Begin")
    assert stage.title == "Robin"
    assert stage.said == "all set: face-on"
    assert remembered(load_context(here)) is not None

    # A drill with one press, ended by the camera's end; back by Escape.
    stage.putt(SEEN)
    stage.press("Drills")
    stage.press("Hold, then look")
    assert stage.title == "Robin: 3 strokes"
    assert stage.opened == 3  # two modes that are not its own, then its own, in which it stayed open for practice
    shown = stage.picture()
    assert shown.shape == (600, 1024, 3)
    stage.click("Start page")
    assert stage.title == "Robin"

    # The record equals what the commands make.
    for line in (
        ["students", "add", "Robin", "player.height_cm=172.7"],
        ["distance", "unit", "m", "--student", "Robin"],
    ):
        assert run(["--data-folder", str(by_command), *line]) == 0
    context = load_context(by_command, "Robin")
    stage.show(frames)
    with stage.desk.devices(context.settings, SetupView()) as devices:  # as the command `setup` does
        set_up_camera(CameraSetupRequest(context, handedness="right"), devices, stage.desk.openers(), FakeClock())
    assert standing(here) == standing(by_command)
    Stage(SEEN, StageDisplay()).practise(by_command, student="Robin", drill="hold-then-look")
    assert [one[:4] for one in kept(here, "Robin")] == [one[:4] for one in kept(by_command, "Robin")]
    assert kept(here, "Robin") == kept(by_command, "Robin")
    assert {one[2] for one in kept(here, "Robin")} == {"hold-then-look"}

    # The strokes again: the list, one stroke, the review, where its ball went.
    stage.press("Replay strokes")
    row = next(words for words in stage.words if "stroke 2" in words)
    assert "early look" in row
    stage.click(row)
    with ending(REPEAT_MS):
        stage.click("See it again, slow and with lines")
    assert "stroke 2" in stage.title
    stage.click("holed")
    assert "holed" in stage.said
    stage.key("escape")
    stage.key("escape")

    # A limit, moved and saved; both as the commands do it.
    stage.press("Limits")
    stage.slide("Head going along", 2.0)
    sway_cm = next(one.of.value for one in stage.items() if one.kind == "slide" and "going along" in one.of.label)
    stage.press("Save limits")
    stage.tab_to("Set by")
    stage.type("coach")
    stage.tab_to("Why")
    stage.type("steadier")
    stage.press("Save")
    stage.key("escape")
    limits = [
        "limits",
        "--student",
        "Robin",
        f"sway.limit_cm={sway_cm:g}",
        "--save",
        "--by",
        "coach",
        "--why",
        "steadier",
    ]
    for line in (["outcome", "holed", "--student", "Robin", "--stroke", "1/2"], limits):
        assert run(["--data-folder", str(by_command), *line]) == 0
    assert decided(here, "Robin") == decided(by_command, "Robin")
    assert decided(here, "Robin")[0].sway.value == sway_cm != 3.0

    # Progress and its page.
    stage.press("Progress")
    assert stage.title == "Robin: progress"
    stage.click("Write it as a page")
    page = Path(stage.said.removeprefix("wrote "))
    assert (
        run(["--data-folder", str(by_command), "report", "--student", "Robin", "--out", str(tmp_path / "c.html")]) == 0
    )
    assert words_of(page) == words_of(tmp_path / "c.html")
    stage.key("escape")

    # Homework, and a lesson; both as the commands do it.
    stage.press("Homework")
    stage.press("Set homework")
    stage.tab_to("Set by")
    stage.type("coach")
    stage.press("Save")
    stage.key("escape")
    stage.press("Lesson")
    stage.type("coach")
    stage.press("Begin a lesson")
    for field, words, button in (
        ("What was tried", "wider", "Note it"),
        ("Words to take home", "wait", "Keep the words"),
    ):
        stage.tab_to(field)
        stage.type(words)
        stage.press(button)
    stage.press("End the lesson")
    stage.key("escape")
    of_robin = ("--student", "Robin")
    for line in (
        ["homework", "set", "hold-then-look", *of_robin, "--days", "4", "--by", "coach"],
        ["lesson", "begin", *of_robin, "--by", "coach"],
        ["lesson", "try", "wider", *of_robin],
        ["lesson", "words", "wait", *of_robin],
        ["lesson", "end", *of_robin],
    ):
        assert run(["--data-folder", str(by_command), *line]) == 0
    assert taught(here, "Robin") == taught(by_command, "Robin")
    assert all(taught(here, "Robin"))

    # Export here, import there.
    stage.press("Export, import")
    stage.click("Export all")
    exported = next(tmp_path.glob("*.zip"))
    assert str(exported) in stage.said
    other = StartStage(there, tmp_path)
    other.click("Skip all of it")
    other.press("Export, import")
    other.press("Import a file")
    other.click(exported.name)
    assert (other.title, "3 new strokes" in other.said) == ("Robin", True)
    assert kept(there, "Robin") == kept(here, "Robin")
    assert decided(there, "Robin") == decided(here, "Robin")
    other.window.handle(pygame.event.Event(pygame.DROPFILE, file=str(exported)))  # once more, dropped: nothing changes
    assert (other.title, other.window.shown.wrong, "3 new" in other.said) == ("Robin", False, False)
    assert kept(there, "Robin") == kept(here, "Robin")

    # Erased after two questions.
    stage.key("escape")
    stage.press("Erase")
    assert str(exported) in " ".join(text.text for text in stage.window.page.body if hasattr(text, "text"))
    stage.press("Leave it as it is")
    assert kept(here, "Robin")
    stage.click("Erase")
    stage.click("Erase")
    stage.click("Erase all of it now")
    assert stage.title == "Nobody chosen"
    assert "erased Robin: 3 strokes" in stage.said
    assert not list((here / "students").glob("*.toml"))
    assert run(["--data-folder", str(by_command), "students", "erase", "Robin", "--yes"]) == 0
    with load_context(here).open_store() as left, load_context(by_command).open_store() as right:
        for store in (left, right):
            with store.reading() as db:
                assert db.execute("SELECT count(*) FROM strokes").fetchone()[0] == 0
    stage.close()
    other.close()
