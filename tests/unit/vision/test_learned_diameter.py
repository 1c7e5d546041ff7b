"""The ball's diameter as the net reads it: of drawn balls, lit as nothing that it was taught with."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trainer.vision.ball.learned_diameter import FILE, SIZE, ball_look, learned_diameter_px

FINE = 8  # samples a pixel, each way


def ball_picture(diameter_px: float, lit_from: tuple[float, float, float], ground: float = 70.0) -> np.ndarray:
    """(64, 64, 3) uint8 BGR: a white sphere at (32.3, 31.6) by Lambert's law under one lamp and the sky, on plain ground."""
    at = (np.arange(64 * FINE) + 0.5) / FINE
    x, y = 2 * (at[None] - 32.3) / diameter_px, 2 * (at[:, None] - 31.6) / diameter_px
    inside = x**2 + y**2 < 1
    z = np.sqrt(np.clip(1 - x**2 - y**2, 0, 1))
    lamp = np.array(lit_from) / np.linalg.norm(lit_from)
    lit = 0.25 + 0.15 * np.clip(-y, 0, 1) + 0.6 * np.clip(x * lamp[0] + y * lamp[1] + z * lamp[2], 0, None)
    fine = np.where(inside, 235 * np.clip(lit, 0, 1) ** (1 / 2.2), ground)
    grey = cv2.GaussianBlur(fine.reshape(64, FINE, 64, FINE).mean((1, 3)), (0, 0), 0.7)
    noisy = grey[..., None] + np.random.default_rng(3).normal(0, 2, (64, 64, 3))
    return np.clip(noisy, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("diameter_px", [8.5, 10.0, 12.5])
@pytest.mark.parametrize("lit_from", [(-0.8, -0.5, 0.4), (0.8, -0.5, 0.4), (0.0, -0.9, 0.4), (0.0, -0.4, 0.9)])
@pytest.mark.parametrize("given", [0.88, 1.1])
def test_a_ball_lit_from_any_side_has_its_own_diameter_whatever_it_was_taken_for(
    diameter_px: float, lit_from: tuple[float, float, float], given: float
) -> None:
    found = learned_diameter_px(ball_picture(diameter_px, lit_from), 32.3, 31.6, given * diameter_px)
    assert found == pytest.approx(diameter_px, rel=0.07)


def test_what_is_no_ball_has_no_diameter() -> None:
    plain = np.full((64, 64, 3), 80, np.uint8)
    assert learned_diameter_px(plain, 32, 32, 10) is None
    assert ball_look(plain, 32, 32, 10) is None


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 40), st.integers(1, 40), st.floats(-30, 70), st.floats(-30, 70), st.floats(2, 60))
def test_any_place_in_or_out_of_any_picture_gives_a_diameter_or_none(
    height: int, width: int, x: float, y: float, diameter_px: float
) -> None:
    image = np.random.default_rng(height * 41 + width).integers(0, 255, (height, width, 3)).astype(np.uint8)
    found = learned_diameter_px(image, x, y, diameter_px)
    assert found is None or np.isfinite(found)
    look = ball_look(image, x, y, diameter_px)
    assert look is None or look.shape == (SIZE, SIZE, 3)


def test_the_net_is_small() -> None:
    assert FILE.stat().st_size < 100_000
