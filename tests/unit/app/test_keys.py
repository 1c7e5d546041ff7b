"""The footer of the practice window names the keys that act, and no other: in every situation, language and size."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Callable

import numpy as np
import pygame
import pytest

from tests.support.practice_stage import PICTURE, Watches, joined, stroke
from tests.unit.ui.test_window import view
from trainer.app.context import load_context
from trainer.app.homework import HomeworkRequest, set_homework
from trainer.app.practice.drill_sequence import drill_sequence
from trainer.app.practice.gesture_control import WENT, GestureControl
from trainer.app.practice.practice_session import PracticePlan, PracticeSession
from trainer.coaching.gestures import Order
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.languages import LANGUAGES
from trainer.live.keys import ALWAYS, COMMANDS, HOMEWORK_KEY, KEYS, NEXT_KEY, ORDERS, footer_words
from trainer.live.ports import SAVE
from trainer.live.practice_step import PracticeStep
from trainer.settings.drill_file import Drill
from trainer.store.history import StudentKey
from trainer.store.outcomes import outcomes_of
from trainer.store.store import Store
from trainer.texts import shown, speaking
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.practice.practice_view import PracticeView

WITHOUT_ANSWERS = sorted(set(ORDERS) - {"guess short", "guess long", "good", "not good"})


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    assert run(["--data-folder", str(tmp_path), "students", "add", "Robin"]) == 0
    return tmp_path


class Boxes(Canvas):
    """Notes where every text comes out, in the language that is drawn."""

    def __init__(self) -> None:
        super().__init__()
        self.boxes: dict[str, Any] = {}

    def text(self, on: Any, text: str, *place: Any, **more: Any) -> Any:
        box = super().text(on, text, *place, **more)
        self.boxes[shown(text)] = box
        return box


class Played:
    """A run over two strokes, the second an early look, step by step."""

    def __init__(self, folder: Path, store: Store, first: str = "", listed: tuple[str, ...] = ()) -> None:
        context = load_context(folder, "Robin")
        self.seen = joined(stroke(1.4), stroke(-0.35), stroke(1.4))
        drills = drill_sequence(context, listed)
        drill: Drill | None = drills.by_id[first] if first else None
        self.session = PracticeSession(PracticePlan(context, "made up", drills, drill), store)
        self.session.start(Watches(self.seen))
        self.store, self.key = store, StudentKey(context.student_id, "Robin")
        self._at = 0

    def to(self, time_s: float) -> PracticeStep:
        """Up to the first frame of that time."""
        while True:
            one = self.seen[self._at]
            self._at += 1
            step = self.session.step(Frame(one.index, one.time_s, PICTURE), None)
            if one.time_s >= time_s:
                return step

    def effect(self) -> Any:
        """What an order may change: the drill and how far it is, the card, where balls went."""
        step = self.to(0.0)  # one frame on
        drill = self.session._exercise
        return drill, step.state.card, tuple(outcomes_of(self.store, self.key).items())

    def acts(self, order: Order) -> bool:
        before = self.effect()
        self.session.order(order)
        return bool(self.effect() != before)


Situation = Callable[[Played], None]


def at_first(played: Played) -> None:
    played.to(0.2)


def after_strokes(played: Played) -> None:
    played.to(13.8)


def resting(played: Played) -> None:
    played.to(13.8)
    played.session.order("pause")
    while not played.to(0.0).state.paused:
        pass


@pytest.mark.parametrize("situation", [at_first, after_strokes, resting])
@pytest.mark.parametrize("homework", [False, True])
@pytest.mark.parametrize("listed", [(), ("quiet-hands",)])
def test_the_session_names_the_keys_that_act(
    folder: Path, situation: Situation, homework: bool, listed: tuple[str, ...]
) -> None:
    context = load_context(folder)
    if homework:
        set_homework(context, HomeworkRequest("Robin", "hold-then-look", days_a_week=2, who="coach"))
    with context.open_store() as store:
        played = Played(folder, store, listed=listed)
        situation(played)
        told = played.to(0.0).state.keys
        assert told >= ALWAYS
        assert not told & {
            "guess short",
            "guess long",
            "good",
            "not good",
            SAVE,
        }  # nothing is asked; saving is the loop's
        drills = {"next", "homework"}  # these change what the others act on: last
        for order in sorted(WITHOUT_ANSWERS, key=lambda o: (o in drills, o == "next")):
            if order == "next" and "homework" in told:
                continue
            assert played.acts(ORDERS[order]) == (order in told), order


def test_without_a_player_no_key_orders_anything(folder: Path) -> None:
    context = load_context(folder, "Robin")
    with context.open_store() as store:
        session = PracticeSession(PracticePlan(context, "made up", drill_sequence(context), gestures=False), store)
        seen = stroke(1.4)
        session.start(Watches(seen))
        steps = [session.step(Frame(one.index, one.time_s, PICTURE), None) for one in seen]
    assert {step.state.keys for step in steps} == {ALWAYS}


def test_the_arrow_keys_are_named_while_it_is_asked_how_it_felt(folder: Path) -> None:
    assert run(["--data-folder", str(folder), "students", "set", "Robin", "feedback.feel=true"]) == 0
    with load_context(folder).open_store() as store:
        played = Played(folder, store)
        asked = [step.state for step in (played.to(0.0) for _ in range(200)) if step.state.gestures is not None]
    named = [{"good", "not good"} <= state.keys for state in asked]
    assert named == [state.gestures is not None and state.gestures.asks for state in asked]
    assert len(set(named)) == 2


SETS = [ALWAYS, frozenset(COMMANDS.values()), ALWAYS | {"next"}, ALWAYS | {"homework", "why", *WENT, SAVE}]


@pytest.mark.parametrize("size", [(1024, 600), (1024, 768), (1280, 720), (640, 480)])
@pytest.mark.parametrize("language", LANGUAGES.values(), ids=lambda language: language.code)
@pytest.mark.parametrize("upright", [False, True])
def test_the_footer_is_the_keys_that_act_whole_and_inside_the_window(size: Any, language: Any, upright: bool) -> None:
    for keys in SETS:
        with speaking(language):
            board = PracticeView()
            board._canvas = board._key_lines._canvas = canvas = Boxes()
            image = np.full((640, 360, 3) if upright else (480, 640, 3), 90, np.uint8)
            board.draw(pygame.Surface(size), view(keys=keys, image=image, observation=None))
            drawn = canvas.boxes
            words = [shown(key.words) for key in KEYS if set(key.commands.values()) & keys]
            assert "   ".join(words) == shown(footer_words(keys))
            lines = [text for text in drawn if any(text.startswith(w) or text.endswith(w) for w in words)]
            assert "   ".join(lines) == "   ".join(words)
        others = [box for text, box in drawn.items() if text and text not in lines]
        for line in lines:
            assert pygame.Rect((0, 0), size).contains(drawn[line]), line
            assert drawn[line].collidelist(others) == -1, line


def test_hints_say_the_keys_of_the_table(folder: Path) -> None:
    context = load_context(folder)
    set_homework(context, HomeworkRequest("Robin", "hold-then-look", days_a_week=2, who="coach"))
    with context.open_store() as store:
        state = Played(folder, store).to(0.1).state
    assert f"or {NEXT_KEY.label}: {NEXT_KEY.does}" in GestureControl().view(drills=True).hint
    assert state.sign is not None
    assert f"{HOMEWORK_KEY.label} begins it" in state.sign.detail
