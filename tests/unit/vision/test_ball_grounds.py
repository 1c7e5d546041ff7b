"""The ball on grounds that are hard for it: pale and grey ones, checks, beside what shines; and no ball where there is none."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.support.drawn_putter import BALL_PX, WHITE, YELLOW, Look, background, body, draw_ball, picture, wrists
from trainer.vision.ball.finder import BallFinder, BallSeenImage
from trainer.vision.ball.occluded_ball import ball_behind_putter
from trainer.vision.ball.shown import shown_as
from trainer.vision.ball.spots import bright_spots

PLACE, HEAD = (329.0, 424.5), (320.0, 427.0)
ORANGE = (40.0, 150.0, 245.0)  # B, G, R
CONCRETE = (186, 182, 178)
PINK = (190.0, 160.0, 240.0)


def found(fine: np.ndarray, look: Look, at: tuple[float, float] | None) -> BallSeenImage | None:
    finder, rng, seen = BallFinder(), np.random.default_rng(3), None
    for i in range(6):
        seen = finder.update(picture(fine, [0.0], look, rng, at), i / 30, wrists(0.0), body(0.0), HEAD)
    return seen


def ground(colour: tuple[int, int, int]) -> np.ndarray:
    fine = background(np.random.default_rng(0))
    fine[330 * 3 :] = colour
    return fine


@pytest.mark.parametrize("colour", [ORANGE, YELLOW])
def test_a_coloured_ball_on_concrete_no_darker_than_itself_is_found_by_its_warmth(colour) -> None:
    seen = found(ground(CONCRETE), Look(ball=colour, tape=None), PLACE)
    assert seen is not None
    assert (seen.x, seen.y) == (pytest.approx(PLACE[0], abs=1.0), pytest.approx(PLACE[1], abs=1.2))
    assert seen.diameter_px == pytest.approx(BALL_PX, rel=0.15)


@pytest.mark.parametrize("seed", [3, 5])
def test_a_coloured_ball_hardly_brighter_than_its_mat_is_found_soon_and_measured_in_video(seed: int) -> None:
    """Now its grey shows it best, now another way: it is the same ball; its colours are kept at half size."""
    fine, rng, finder, seen = ground((90, 165, 80)), np.random.default_rng(seed), BallFinder(), None
    for i in range(20):
        image = picture(fine, [0.0], Look(ball=PINK, tape=None, noise=9.0), rng, PLACE)
        video = cv2.cvtColor(cv2.cvtColor(image, cv2.COLOR_BGR2YUV_I420), cv2.COLOR_YUV2BGR_I420)
        seen = finder.update(video, i / 30, wrists(0.0), body(0.0), HEAD)
        assert seen is not None or i < 6
    assert seen is not None
    assert seen.diameter_px == pytest.approx(BALL_PX, rel=0.05)


def test_a_white_ball_on_ground_as_white_is_not_made_up() -> None:
    assert found(ground((250, 250, 250)), Look(ball=(250.0, 250.0, 250.0), tape=None), PLACE) is None


@pytest.mark.parametrize("side_px", [9, 14])
def test_checks_are_no_balls(side_px: int) -> None:
    fine = ground((70, 70, 150))
    rows, columns = np.mgrid[: fine.shape[0] - 330 * 3, : fine.shape[1]] // (3 * side_px)
    fine[330 * 3 :][(rows + columns) % 2 == 0] = (140, 140, 205)
    assert found(fine, Look(ball=None, tape=None), None) is None


def test_tape_that_shines_above_the_ground_is_no_ball() -> None:
    for tape in ((20.0, 240.0, 160.0), (10.0, 120.0, 250.0)):
        assert found(background(np.random.default_rng(0)), Look(ball=None, tape=tape), None) is None


def test_warmth_leaves_what_is_white_grey_or_green_dark() -> None:
    colours = np.array([[WHITE, CONCRETE, (62, 145, 60), ORANGE]], np.uint8)
    white, grey, grass, orange = shown_as(colours, "warm")[0, :, 0]
    assert max(white, grey, grass) < 20
    assert orange > 180
    assert shown_as(colours, "plain") is colours


def test_the_largest_circle_inside_of_ball_and_shaft_in_one_is_the_balls() -> None:
    patch = np.full((60 * 3, 60 * 3, 3), 60, np.float32)
    cv2.rectangle(patch, (34 * 3, 0), (37 * 3, 32 * 3), (230, 230, 230), -1)  # a shaft that shines down into the ball
    draw_ball(patch, (30.0, 33.0), (235.0, 235.0, 235.0), 11.0)
    small = cv2.resize(patch, (60, 60), interpolation=cv2.INTER_AREA).astype(np.uint8)
    spots = bright_spots(small, 5.0, 16.0)
    inner = [s for s in spots if s.inner]
    assert inner
    assert min(np.hypot(s.x - 30.0, s.y - 33.0) for s in inner) < 2.0
    assert not [s for s in spots if s.y < 20.0]  # the shaft alone holds none


def test_an_orange_ball_behind_the_putter_is_found_on_pale_ground_and_none_without_it() -> None:
    marks = {
        "left_hip": (200.0, 230.0, 1.0), "left_knee": (215.0, 310.0, 1.0), "left_ankle": (200.0, 385.0, 1.0),
        "left_heel": (190.0, 395.0, 1.0), "left_toe": (235.0, 398.0, 1.0),
        "right_heel": (188.0, 402.0, 1.0), "right_toe": (233.0, 406.0, 1.0),
    }  # fmt: skip
    image = np.full((480, 640, 3), CONCRETE, np.uint8)
    cv2.rectangle(image, (285, 398), (310, 403), (150, 150, 150), -1)
    assert ball_behind_putter(image, marks) is None
    cv2.ellipse(image, (297, 398), (4, 5), 0, 180, 360, (40, 150, 245), -1)
    cv2.line(image, (297, 398), (280, 330), (60, 60, 60), 1)
    seen = ball_behind_putter(image, marks)
    assert seen is not None
    assert (seen.x, seen.y) == (pytest.approx(297.0, abs=2.0), pytest.approx(396.0, abs=2.5))


def test_a_pink_ball_that_the_sky_alone_lights_is_found_on_a_green() -> None:
    """As red as it is blue, so without warmth, and as grey as the grass: it is rosy."""
    seen = found(ground((115, 165, 125)), Look(ball=(165.0, 115.0, 160.0), tape=None), PLACE)
    assert seen is not None
    assert (seen.x, seen.y) == (pytest.approx(PLACE[0], abs=0.8), pytest.approx(PLACE[1], abs=1.2))
