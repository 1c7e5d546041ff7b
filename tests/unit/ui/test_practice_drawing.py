"""What is drawn while practising: the drill's lines, the hint, the question, the mark; at every size, nothing over another."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pygame
import pytest

from tests.unit.ui.test_window import SIZES, drawn, measured, view
from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.domain.player_frame import PlayerFrame, Point
from trainer.domain.record import Events, LiveState
from trainer.feedback.signs import Sign
from trainer.live.display_types import DrillView, GestureView, GroundMark
from trainer.live.practice_state import DisplayState
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.practice.key_lines import KeyLines
from trainer.ui.practice.practice_drawing import QUESTIONS
from trainer.ui.practice.practice_view import DETAIL_LETTERS, FOOTER, RESULT

HINT = "lead hand up: pause    trail hand up or N: next drill    both hands up: end"
DRILL = DrillView("Stroke 17 of 20", "7 of the last 10 good; 8 of 10 pass it", "then 5 strokes in silence")
FAR = DrillView(
    "Stroke 3 of 16",
    "6 good of 10 pass it",
    "then 4 strokes in silence",
    distance="for 6.0 m, 2 % up: 29 cm, 2 cm beyond trail foot",
    last="6.8 m for 6.0 m (+13 %, by ball speed): long",
    mark_cm=31.0,
    label="6.0 m",
)
SILENT = DrillView("Silent test: stroke 2 of 5", "measured, no feedback", "then Quiet hands", silent=True)
KEPT = Sign("Stroke kept", "", "plain")
ASKED = "2 to 5 m: carry the hands through as far as they went back, then hold; past the leg only from 15 m on"
VIEWS: dict[str, DisplayState] = {
    "asked": view(drill=DRILL, gestures=GestureView(HINT), sign=Sign("Hands through", ASKED, "plain")),
    "drill": view(drill=DRILL, gestures=GestureView(HINT), sign=Sign("Well held", "1.4 s; it felt good", "good")),
    "far": view(drill=FAR, gestures=GestureView(HINT), mark=GroundMark(reason="scale not known"), sign=KEPT),
    "silent": view(drill=SILENT, gestures=GestureView(HINT, ("Next drill", 0.4)), sign=KEPT),
    "asks": view(drill=DRILL, gestures=GestureView("", None, True), sign=None),
    "paused": view(
        drill=DRILL, gestures=GestureView("lead hand up: go on    both hands up: end"), paused=True, sign=KEPT
    ),
}


@pytest.mark.parametrize("size", [(wide, high) for wide, high in SIZES if wide > high])
def test_what_a_drill_asks_is_read_from_afar_in_two_lines(size: tuple[int, int]) -> None:
    """In one line they had a third of that size."""
    _, boxes = measured(VIEWS["asked"], size)
    lines = [box for text, box in boxes.items() if text and text in ASKED]
    assert len(lines) == 2
    assert all(box.height > 0.6 * DETAIL_LETTERS * size[1] for box in lines)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", VIEWS)
def test_nothing_sticks_out_and_nothing_overlaps(size: tuple[int, int], name: str) -> None:
    _, boxes = measured(VIEWS[name], size)
    window = pygame.Rect((0, 0), size)
    shown = {text: box for text, box in boxes.items() if text}
    for text, box in shown.items():
        assert window.contains(box), text
    names = list(shown)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            if {one, other} != {"Head turn", "+4°"}:  # lines of text have room above and below their letters
                assert not shown[one].colliderect(shown[other]), (one, other)


@pytest.mark.parametrize("size", [(1280, 720), (640, 480), (1920, 1080)])
def test_the_question_is_read_from_four_metres(size: tuple[int, int]) -> None:
    capitals, _ = measured(VIEWS["asks"], size)
    assert capitals[QUESTIONS["feel"][0]] >= 0.9 * size[1] / 12  # a question, not a result


def test_while_it_asks_no_result_is_shown() -> None:
    asked = view(drill=DRILL, gestures=GestureView("", None, True), sign=Sign("Early look", "0.3 s", "fault"))
    assert "Early look" not in measured(asked, (1280, 720))[1]


def test_in_silence_the_dial_is_not_drawn() -> None:
    told, silent = (measured(VIEWS[name], (1280, 720))[1] for name in ("drill", "silent"))
    assert "Head turn" in told
    assert "Head turn" not in silent


def test_the_reason_for_no_mark_is_said() -> None:
    assert "no mark on the floor: scale not known" in measured(VIEWS["far"], (1280, 720))[1]


@pytest.mark.parametrize("handedness", ["right", "left"])
def test_the_mark_stands_behind_the_ball_on_the_picture(handedness: Any) -> None:
    picture = np.full((480, 640, 3), 90, np.uint8)
    frame = PlayerFrame("face-on", handedness, 640)
    seen = Observation(0, 1.0, frame=frame)
    base = view(image=picture, moment=LiveState(1.0, Phase.ADDRESS, Events()), observation=seen, drill=FAR)
    ball = Point(320.0, -420.0, 0.9)
    at = Point(250.0, -436.0, 0.9)
    marked = replace(base, mark=GroundMark(at, ball, 10.0))
    bare, with_mark = drawn(base), drawn(marked)
    rows, columns = np.nonzero((bare != with_mark).any(axis=2))
    box = measured(marked, (1280, 720))[1]["6.0 m"]
    keys_px = KeyLines(Canvas()).height_px(720, 1280 - 2 * 24)
    scale = min(0.60 * 1232 / 640, (720 - 2 * 24 - round((RESULT + FOOTER) * 720) - keys_px - 12) / 480)
    x = 24 + frame.to_picture(at)[0] * scale
    assert abs(box.centerx - x) < 6
    assert abs(columns.min() - min(x, 24 + 320 * scale)) < box.width  # from the post to the ball, whichever is left
    assert rows.min() > 200
