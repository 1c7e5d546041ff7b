"""Out of focus or not, by balls that are told."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.support.drawn_putter import FINE, WHITE, draw_ball
from trainer.vision.ball.circle_fit import fit_circle, luminance
from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.focus import SOFT_LINE, Focus, is_soft, sharpened
from trainer.vision.putter.background_model import Box

SHARP, BETWEEN, BLURRED = 0.13, 0.175, 0.3


def ball(soft: float, at_rest: bool = True, diameter_px: float = 10.0) -> BallSeenImage:
    return BallSeenImage(320.0, 420.0, diameter_px, 0.9, at_rest, soft)


def test_a_small_ball_in_focus_is_all_edge() -> None:
    assert is_soft(ball(0.25))
    assert not is_soft(ball(0.25, diameter_px=4.0))
    assert not is_soft(None)


@pytest.mark.parametrize(
    ("then", "blurred"),
    [
        ([None] * 30, True),
        ([ball(SHARP, at_rest=False)] * 30, True),
        ([ball(BETWEEN)] * 30, True),
        ([*[ball(SHARP)] * 10, ball(BLURRED), *[ball(SHARP)] * 10], True),
        ([ball(SHARP)] * 30, False),
    ],
)
def test_once_blurred_it_takes_a_sharp_ball_to_be_in_focus(then: list[BallSeenImage | None], blurred: bool) -> None:
    focus = Focus()
    assert not focus.see(ball(SHARP), 0.0)
    assert focus.see(ball(BLURRED), 0.05)
    changes = [focus.see(seen, 0.1 + k / 20) for k, seen in enumerate(then)]
    assert focus.blurred == blurred
    assert sum(changes) == (not blurred)


@pytest.mark.parametrize("blur_px", [0.9, 1.3, 2.0])
def test_a_blurred_ball_is_as_large_as_in_focus(blur_px: float) -> None:
    sizes = []
    for more in (0.6, blur_px):
        patch = np.full((48 * FINE, 48 * FINE, 3), 90, np.float32)
        draw_ball(patch, (24.0, 24.0), WHITE, 10.4)
        small = cv2.GaussianBlur(cv2.resize(patch, (48, 48), interpolation=cv2.INTER_AREA), (0, 0), more)
        fit = fit_circle(luminance(small.astype(np.uint8)), 24.0, 24.0, 11.0)
        assert fit is not None
        focus = Focus()
        focus.see(ball(fit.soft, diameter_px=fit.diameter_px), 0.0)
        sizes.append((fit.diameter_px, focus.in_focus_px(fit.diameter_px)))
    (sharp, alike), (blurred, mended) = sizes
    assert alike == pytest.approx(sharp, rel=0.01)
    assert abs(mended - sharp) < 0.035 * sharp
    assert mended <= blurred
    assert focus.in_focus_px(None) is None
    assert focus.in_focus_px(4.0) == 4.0


@pytest.mark.parametrize("blur_px", [1.5, 2.0, 3.5])
def test_a_blurred_shaft_stands_out_again(blur_px: float) -> None:
    clear = np.full((80, 80, 3), 100, np.uint8)
    clear[:, 39:41] = 220
    blurred = cv2.GaussianBlur(clear, (0, 0), blur_px)
    contrast = [float(picture[40, 39:41].mean()) - 100.0 for picture in (blurred, sharpened(blurred))]
    assert contrast[1] > 1.4 * contrast[0]


@pytest.mark.parametrize("box", [Box(20, 30, 61, 77), Box(0, 5, 90, 70), Box(3, 40, 9, 90)])
def test_a_part_is_sharpened_as_in_the_whole_picture(box: Box) -> None:
    image = np.random.default_rng(3).integers(0, 256, (90, 90, 3)).astype(np.uint8)
    before, whole, part = image.copy(), sharpened(image), sharpened(image, box)
    assert np.array_equal(box.of(part), box.of(whole))
    assert not np.array_equal(part, whole)  # the rest is let be
    assert np.array_equal(image, before)


def test_half_a_ball_does_not_tell_what_to_sharpen_but_how_large_it_is() -> None:
    whole, half = Focus(), Focus(half_hidden=True)
    assert whole.see(ball(BLURRED), 0.0)
    assert not half.see(ball(BLURRED), 0.0)
    assert (whole.blurred, half.blurred) == (True, False)
    assert half.in_focus_px(10.0) == whole.in_focus_px(10.0)


@pytest.mark.parametrize(("blurred_s", "told"), [(0.4, False), (0.6, True)])
def test_a_spot_taken_for_a_ball_for_a_moment_is_nothing_to_tell(blurred_s: float, told: bool) -> None:
    focus, lines = Focus(), []
    for k in range(30):
        focus.see(ball(BLURRED if k / 20 <= blurred_s else SHARP), k / 20)
        lines.append(focus.line)
    assert (SOFT_LINE in lines) == told
    assert lines[-1] == ""
