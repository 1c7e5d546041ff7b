"""Every text that a window draws is told in the reader's language: in one of other letters nothing Latin is left."""

from __future__ import annotations

from pathlib import Path

import pygame
import pytest

from tests.support.made_address import Still, picture, points
from tests.support.marker import MARKER, latin_in, not_translated
from tests.support.practice_stage import joined, stroke
from tests.support.review_clips import HELD, LOOKED, figure
from tests.support.start_pages import drawn_pages
from tests.support.start_stage import StartStage
from tests.support.window_pages import LINK
from trainer.app.context import load_context
from trainer.app.start.memory import DONE, StartMemory, remember_start
from trainer.app.students import add_student
from trainer.camera_setup.setup_findings import SetupFacts, setup_findings
from trainer.camera_setup.setup_observer import SetupStep
from trainer.coaching.posture.address_measures import measure, setup
from trainer.coaching.posture.compare import changes
from trainer.coaching.posture.view_detection import DetectedView
from trainer.coaching.reasons.find import ALL_CARDS
from trainer.languages import LANGUAGES
from trainer.posture.analysis import Given, look
from trainer.posture.guidance import ComparedPosture, PostureState, main_sign
from trainer.replay.review_session import Choice, Entry, Lookups, ReviewSession
from trainer.texts import in_language, speaking, tr
from trainer.ui.camera_setup.setup_view import SetupView
from trainer.ui.drawing.link_view import in_lines
from trainer.ui.posture.compare_view import CompareState, CompareView
from trainer.ui.posture.posture_view import PostureView
from trainer.ui.review.reviewer import Reviewer
from trainer.ui.start.page import Goes

NAMES = (
    "Kim", "Robin", "Desk", "Hall", "English", "Deutsch", "Español", "robin-2.mp4", "robin.mp4", "robin.handover.zip",
    "Putting/", "mixer", "simpleaudio", *in_lines(LINK.address),
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


def test_what_is_drawn_has_letters_in_the_font(stage: StartStage) -> None:
    """Per cent is written with a blank in German, which the font must have."""
    with speaking(LANGUAGES["de"]):
        stage.view.canvas.rendered(tr("{share:.0%}", share=0.5), 20, (0, 0, 0))
    assert [text for text, *_ in stage.view.canvas.texts] == ["50 %"]


def test_every_page_and_window_is_translated(tmp_path: Path) -> None:
    left: dict[str, list[str]] = {}
    with speaking(MARKER):
        for name, canvas in drawn_pages(tmp_path, "1024", "dark"):
            if name != "card" and (found := not_translated(canvas, NAMES)):  # its sources are named as they are
                left[name] = found
            canvas.texts.clear()
    assert not left


def test_the_review_is_translated() -> None:
    """One stroke, two side by side, one over the other, and its keys."""
    choices = (Entry("1", "", lambda: figure(HELD)), Entry("2", "", lambda: figure(LOOKED)))
    session = ReviewSession(Choice(choices, choices[0], choices[1], "", Lookups()))
    reviewer, surface = Reviewer(session), pygame.Surface((1024, 600))
    with speaking(MARKER):
        for layout in ("one", "beside", "ghost"):
            session.playback.layout = layout  # type: ignore[assignment]
            reviewer.draw(surface)
        reviewer.do("keys")
        reviewer.draw(surface)
    session.close()
    assert not not_translated(reviewer._view._canvas)


def test_postures_one_and_two_side_by_side_are_translated() -> None:
    surface, made = pygame.Surface((1024, 600)), []
    for name in ("s02", "s04"):
        image = picture(name)
        seen = look(Still(points(name), image), image, Given(height_cm=180.0), find_ball=True).seen
        assert seen is not None
        made.append(ComparedPosture("1", image, seen, setup(seen)))
    table = changes(measure(made[0].seen), measure(made[1].seen), "down-the-line")
    one, two = PostureView(), CompareView()
    with speaking(MARKER):
        for side in made:
            one.draw(surface, PostureState(side.image, side.seen, side.checks, main_sign(side.checks, ())))
        two.draw(surface, CompareState(made[0], made[1], table))
        assert not not_translated(one._canvas) + not_translated(two._canvas)


def test_every_card_is_translated() -> None:
    """Its sources are named as they are."""
    told = [
        in_language(text, MARKER)
        for card in ALL_CARDS
        for heading, claims in card.sections()
        for text in (card.title, heading, *(claim.text for claim in claims))
    ]
    assert not [text for text in told if latin_in(text)]


def test_practice_is_translated(stage: StartStage) -> None:
    """What it shows while strokes are made, and what stands on the page after them."""
    stage.putt(joined(stroke(1.3), stroke(-0.3)))
    with speaking(MARKER):
        go(stage, ("Free practice",))
        left = not_translated(stage.desk.lent._view._canvas, NAMES)
        stage.view.canvas.texts.clear()
        stage.window.draw()
        assert not left + not_translated(stage.view.canvas, NAMES)


@pytest.mark.parametrize(
    "facts",
    [
        SetupFacts(),
        SetupFacts(hints=(), detected=DetectedView("face-on", 1.0, "right", 1.0, None), given_view="down-the-line"),
        SetupFacts(hints=(), detected=DetectedView("face-on", 1.0, "right", 1.0, "left"), given_handedness="left"),
        SetupFacts(hints=(), distance_cm=120.0, height_cm=8.0, roll_deg=-12.0, azimuth_deg=9.0, tilt_confidence=1.0),
        SetupFacts(
            hints=(), room_cm=(20.0, 90.0), brightness=20.0, edge_px=10.0, fps=8.0, head_sure=0.5, head_hard="plain"
        ),
    ],
)
def test_setting_up_is_translated(facts: SetupFacts) -> None:
    view = SetupView()
    with speaking(MARKER):
        view.draw(pygame.Surface((1024, 600)), SetupStep(None, tuple(setup_findings(facts))))
    assert view._canvas.texts
    assert not not_translated(view._canvas, ("face-on", "right"))  # as --view and --handedness take them
