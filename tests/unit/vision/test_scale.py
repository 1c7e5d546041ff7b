"""The two scale references: a ball of known size, legs of a known share of the height."""

from __future__ import annotations

import pytest

from tests.support.drawn_putter import body
from trainer.vision.body.points import leg_length_px
from trainer.vision.camera_geometry.scale import BALL_CM, HEAD_BEYOND_BALL, LEG_PER_HEIGHT, ScaleEstimator

LEG_PX = leg_length_px(body(0.0)) or 0.0


def height_for(body_cm_per_px: float) -> float:
    return body_cm_per_px * LEG_PX / LEG_PER_HEIGHT


def test_the_ball_is_the_ruler_of_the_equipment_rules() -> None:
    """Equipment Rules, part 4, and Rules of Golf 2016 appendix III: the diameter must not be less than 1.680 in."""
    assert pytest.approx(1.680 * 2.54, abs=0.001) == BALL_CM
    scale = ScaleEstimator().update(10.0, None)
    assert scale.ball_cm_per_px == pytest.approx(0.42672, abs=1e-4)
    assert scale.body_cm_per_px == pytest.approx(0.42672 * HEAD_BEYOND_BALL, rel=1e-3)
    assert scale.source == "ball"


def test_ball_and_height_together_give_their_mean() -> None:
    by_ball = BALL_CM / 10.0 * HEAD_BEYOND_BALL
    scale = ScaleEstimator(height_for(1.04 * by_ball)).update(10.0, body(0.0))
    assert scale.source == "ball and height"
    assert scale.body_cm_per_px == pytest.approx(by_ball * 1.04**0.5)
    assert scale.ball_cm_per_px == pytest.approx(BALL_CM / 10.0)


def test_a_height_that_does_not_fit_is_told_and_not_used() -> None:
    by_ball = BALL_CM / 10.0 * HEAD_BEYOND_BALL
    scale = ScaleEstimator(height_for(1.4 * by_ball)).update(10.0, body(0.0))
    assert scale.body_cm_per_px == pytest.approx(by_ball)
    assert "height does not fit" in scale.source


def test_a_half_hidden_ball_looks_too_small_and_the_height_is_used() -> None:
    by_ball = BALL_CM / 6.0 * HEAD_BEYOND_BALL
    scale = ScaleEstimator(height_for(0.7 * by_ball)).update(6.0, body(0.0))
    assert scale.source == "height"
    assert scale.body_cm_per_px == pytest.approx(0.7 * by_ball)


def test_height_alone_serves_both_planes() -> None:
    scale = ScaleEstimator(170.0).update(None, body(0.0))
    assert scale.source == "height"
    assert scale.body_cm_per_px == pytest.approx(LEG_PER_HEIGHT * 170.0 / LEG_PX)
    assert scale.ball_cm_per_px == pytest.approx(LEG_PER_HEIGHT * 170.0 / LEG_PX / HEAD_BEYOND_BALL)


def test_with_neither_only_the_stance_is_left_and_says_so() -> None:
    scale = ScaleEstimator().update(None, body(0.0))
    assert (scale.ball_cm_per_px, scale.body_cm_per_px, scale.source) == (None, None, "stance")
    assert scale.stance_px == pytest.approx(74.0)
    nothing = ScaleEstimator().update(None, None)
    assert (nothing.stance_px, nothing.source) == (None, "none")


def test_one_wild_frame_does_not_change_the_scale() -> None:
    estimator = ScaleEstimator()
    for _ in range(9):
        estimator.update(10.0, body(0.0))
    wild = {n: (3 * x, 3 * y, v) for n, (x, y, v) in body(0.0).items()}
    scale = estimator.update(25.0, wild)
    assert scale.ball_cm_per_px == pytest.approx(BALL_CM / 10.0)
    assert scale.stance_px == pytest.approx(74.0)


def test_the_ball_is_remembered_after_it_has_left() -> None:
    estimator = ScaleEstimator()
    estimator.update(10.0, body(0.0))
    assert estimator.update(None, None).ball_cm_per_px == pytest.approx(BALL_CM / 10.0)


@pytest.mark.parametrize(("height_cm", "a_ruler"), [(160.0, True), (205.0, True), (225.0, False), (260.0, False)])
def test_a_ball_that_makes_a_giant_of_the_player_is_no_ruler(height_cm: float, a_ruler: bool) -> None:
    by_ball = LEG_PER_HEIGHT * height_cm / LEG_PX
    scale = ScaleEstimator().update(BALL_CM * HEAD_BEYOND_BALL / by_ball, body(0.0))
    assert (scale.ball_cm_per_px is not None, scale.body_cm_per_px is not None) == (a_ruler, a_ruler)
