"""What lies past the picture's edge is taken out of what was found, with the reason and what would help."""

from __future__ import annotations

import pytest

from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.head.tracker import HeadReading
from trainer.vision.picture_edges import FOUND_AGAIN, PictureEdges
from trainer.vision.putter.scene import PutterSeenImage

SIZE = (400, 300)
BODY = {
    "left_wrist": (200, 150, 0.9),
    "right_wrist": (196, 152, 0.9),
    "nose": (200, 40, 0.9),
    "left_toe": (220, 280, 0.9),
}


def edges() -> PictureEdges:
    made = PictureEdges()
    made.begin(SIZE)
    return made


def putter(x: float, confidence: float = 0.9) -> PutterSeenImage:
    return PutterSeenImage((x, 180), (x, 270), (x, 150), 0.0, confidence, "shaft")


def test_a_player_inside_is_left_alone() -> None:
    found = edges()
    assert found.body(BODY) == BODY
    assert found.head(HeadReading(0.0, 0.9, 200, 40, 20)) is not None
    assert found.ball(BallSeenImage(210, 270, 9, 0.9, True)) is not None
    assert found.putter(putter(205)) is not None
    assert (found.reasons, found.advice) == ({}, [])


@pytest.mark.parametrize(("name", "x", "y", "said"), [("left_toe", 220, 299, "feet"), ("nose", 200, -3, "head")])
def test_points_outside_go(name: str, x: float, y: float, said: str) -> None:
    found = edges()
    assert name not in found.body({**BODY, name: (x, y, 0.9)})
    assert said in found.reasons
    assert said in found.advice[0]


def test_hands_are_both_or_neither() -> None:
    found = edges()
    assert set(found.body({**BODY, "left_wrist": (401, 150, 0.9)})) == {"nose", "left_toe"}
    assert "hands out of the picture on its right" in found.advice[0]


def test_a_head_that_is_cut_is_not_seen() -> None:
    found = edges()
    assert found.head(HeadReading(0.0, 0.9, 200, 15, 20)) is None
    assert "top" in found.reasons["head"]


def test_a_ball_that_rolls_may_leave() -> None:
    found = edges()
    assert found.ball(BallSeenImage(399, 270, 9, 0.9, False)) is None
    assert found.advice == []
    assert found.ball(BallSeenImage(399, 270, 9, 0.9, True)) is None
    assert len(found.advice) == 1


def test_a_putter_that_went_out_must_be_plain_to_be_seen_again() -> None:
    found = edges()
    for x, confidence, seen in [
        (380, 0.9, True),
        (399, 0.9, False),
        (200, FOUND_AGAIN - 0.01, False),  # some other line
        (390, FOUND_AGAIN, True),
        (200, 0.2, True),
    ]:
        found.begin(SIZE)
        assert (found.putter(putter(x, confidence)) is not None) == seen, x
        assert bool(found.advice) != seen
    found.begin(SIZE)
    found.putter(putter(-4))
    found.begin(SIZE)
    assert found.putter(None) is None
    assert "left" in found.reasons["putter"]
