"""The sound pages of the start window, where the focus begins, and options of commands said as what to choose there."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.support.start_stage import StartStage, words_of
from trainer.app.context import load_context
from trainer.app.microphone import QUESTION
from trainer.app.start.memory import DONE, StartMemory, remember_start
from trainer.app.students import add_student
from trainer.ui.start.hints import in_window
from trainer.ui.start.page import Words


@pytest.fixture
def stage(tmp_path: Path) -> StartStage:
    base = tmp_path / "data"
    add_student(load_context(base), "Robin", {})
    remember_start(base, StartMemory("Robin", DONE))
    return StartStage(base, tmp_path)


def focused(stage: StartStage) -> str:
    assert stage.focused is not None
    return words_of(stage.focused)


def device(stage: StartStage) -> str:
    return stage.desk.context(None).settings.sound.device


def test_another_loudspeaker_is_chosen_from_a_list_heard_and_kept(stage: StartStage) -> None:
    stage.press("Settings")
    stage.press("Hear it, or another loudspeaker")
    assert focused(stage) == "Play a tone"
    stage.click("Hall")
    assert [name for _, name in stage.tones.played] == ["ready"]
    assert device(stage) == "Hall"
    assert stage.item("Hall").of.chosen
    stage.loudspeakers = ("Desk",)  # unplugged: what was chosen is still told
    stage.press("Louder")
    assert stage.item("Hall").of.chosen
    stage.press("The system's own")
    assert device(stage) == ""
    assert "Hall" not in stage.words
    stage.press("I heard it")
    assert stage.title == "Settings of this machine"


def test_what_was_changed_before_the_sound_is_tried_is_kept(stage: StartStage) -> None:
    stage.press("Settings")
    stage.click("soft")
    stage.press("Hear it, or another loudspeaker")
    assert stage.desk.context(None).settings.sound.volume == 0.3


def listens(stage: StartStage) -> bool:
    return stage.desk.context(None).settings.hearing.microphone


def test_the_microphone_is_asked_for_before_setting_up_and_is_off_unless_chosen(tmp_path: Path) -> None:
    remember_start(tmp_path, StartMemory("", 4))
    yes = "listen for it, keep no sound"
    assert yes not in StartStage(tmp_path, tmp_path).words  # nothing that could listen is installed
    stage = StartStage(tmp_path, tmp_path, can_listen=True)
    stage.bodies = lambda: SimpleNamespace(close=lambda: None)  # looks at nothing: the camera gives no picture
    assert Words(QUESTION) in stage.window.page.body
    stage.click("Begin")  # the answer is kept all the same
    assert (tmp_path / "settings.toml").read_text() == "[hearing]\nmicrophone = false\n"
    stage.click(yes)
    stage.click("Begin")
    assert listens(stage)


def test_the_microphone_is_turned_off_again_in_the_settings(stage: StartStage) -> None:
    stage.press("Settings")
    assert "do not listen" not in stage.words
    stage.key("escape")
    stage.can_listen = True
    for words, wanted in (("listen for it, keep no sound", True), ("do not listen", False)):
        stage.press("Settings")
        stage.click(words)
        stage.press("Save")
        assert listens(stage) is wanted


def test_the_focus_begins_at_the_likely_way_on(stage: StartStage) -> None:
    stage.press("Lesson")
    assert focused(stage) == "Set by"
    stage.press("Begin a lesson")
    assert focused(stage) == "Strokes as they are"
    stage.key("escape")
    stage.press("Export, import")
    stage.press("Export all")
    stage.press("Import a file")
    assert focused(stage).endswith(".handover.zip")


def test_options_are_told_as_what_to_choose() -> None:
    assert in_window("looks right-handed, not left; set `--handedness right`").endswith("set “Change player: You putt”")
    assert in_window("a recorded clip: `--clip`") == "a recorded clip: “Open a clip”"
    assert "--" not in in_window("move the camera, or set `--view face-on`")
