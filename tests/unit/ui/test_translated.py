"""Every text that a window draws is told in the reader's language: in one of other letters nothing Latin is left."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.approved_pictures import assert_approved
from tests.support.marker import MARKER, latin_in, not_translated
from tests.support.start_stage import StartStage
from trainer.app.context import load_context
from trainer.app.start.memory import DONE, StartMemory, remember_start
from trainer.app.students import add_student
from trainer.coaching.reasons.find import ALL_CARDS
from trainer.languages import LANGUAGES
from trainer.texts import in_language, speaking, tr
from trainer.ui.start.page import Goes

NAMES = ("Kim", "Robin", "English", "Deutsch", "Español")
WAYS = (
    (), ("Switch or add",), ("Switch or add", "Add somebody"), ("Switch or add", "Change Robin"), ("Drills",),
    ("Homework",), ("Homework", "Set homework"), ("Lesson",), ("Before play",), ("Strokes again",), ("Progress",),
    ("How you stand",), ("Why: cards",), ("Distance",), ("Distance", "The chart"), ("Coach's round",), ("Fit limits",),
    ("Export, import",), ("Erase",), ("Settings",),
)  # fmt: skip


@pytest.fixture
def stage(tmp_path: Path) -> StartStage:
    """Two students, the first time is over."""
    base = tmp_path / "data"
    for name in ("Kim", "Robin"):
        add_student(load_context(base), name, {"student.drills": ["hold-then-look"]})
    remember_start(base, StartMemory("Robin", DONE))
    return StartStage(base, tmp_path)


def go(stage: StartStage, way: tuple[str, ...]) -> None:
    """From the start page."""
    stage.window.follow(lambda: Goes("home"))
    for words in way:
        stage.click(words)


def test_what_is_not_marked_is_found(stage: StartStage) -> None:
    with speaking(MARKER):
        for text in (tr("held {held:.1f} s", held=1.5), "held 1.5 s"):
            stage.view.canvas.rendered(text, 20, (0, 0, 0))
    assert not_translated(stage.view.canvas) == ["held 1.5 s"]


def test_the_start_window_is_translated(stage: StartStage) -> None:
    left = {}
    with speaking(MARKER):
        for way in WAYS:
            stage.view.canvas.texts.clear()
            go(stage, way)
            stage.window.draw()
            if found := not_translated(stage.view.canvas, NAMES):
                left[way] = found
    assert not left


def test_every_card_is_translated() -> None:
    """Its sources are named as they are."""
    told = [
        in_language(text, MARKER)
        for card in ALL_CARDS
        for heading, claims in card.sections()
        for text in (card.title, heading, *(claim.text for claim in claims))
    ]
    assert not [text for text in told if latin_in(text)]


def test_the_pages_of_the_first_time_are_translated(tmp_path: Path) -> None:
    left = []
    with speaking(MARKER):
        stage = StartStage(tmp_path / "data", tmp_path)
        for _ in range(5):
            stage.view.canvas.texts.clear()
            stage.window.draw()
            left += not_translated(stage.view.canvas)
            stage.click("Skip this")
    assert not left


@pytest.mark.parametrize(("name", "way"), [("start-german", ()), ("drills-german", ("Drills",))])
def test_it_looks_as_approved_in_german(stage: StartStage, name: str, way: tuple[str, ...]) -> None:
    with speaking(LANGUAGES["de"]):
        go(stage, way)
        assert_approved(stage.picture(), name)
