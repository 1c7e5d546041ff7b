"""Light that changes is taken out; things that move are left alone."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.vision.test_any_picture import MANY, pictures
from trainer.vision.steady_light import KEPT_S, SteadyLight


def scene(x: int = 200) -> np.ndarray:
    rng = np.random.default_rng(3)
    coarse = rng.integers(30, 180, (24, 32, 3), dtype=np.uint8)
    image = cv2.resize(coarse, (640, 480), interpolation=cv2.INTER_LINEAR)
    cv2.rectangle(image, (x, 100), (x + 160, 420), (90, 60, 50), -1)
    cv2.circle(image, (500, 430), 6, (255, 255, 255), -1)
    return image


def lit(image: np.ndarray, *gains: float) -> np.ndarray:
    return np.clip(image * np.array(gains), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("gains", [(1.3, 1.3, 1.3), (0.6, 0.6, 0.6), (0.8, 1.0, 1.25)])
def test_a_jump_is_taken_out(gains: tuple[float, ...]) -> None:
    steady, still = SteadyLight(), scene()
    for k in range(5):
        assert steady.steadied(still, k / 30) is still
    back = steady.steadied(lit(still, *gains), 5 / 30)
    assert np.abs(back.astype(int) - still).mean() < 3
    assert np.abs(lit(still, *gains).astype(int) - still).mean() > 8
    assert (back[430, 500] >= 250 * min(1.0, *gains)).all()  # white stays white


def test_light_that_jumps_from_well_under_to_twice_the_usual_is_brought_back() -> None:
    """Nearly three times as much: what did not run into white comes back as it was, and the next dim picture is let be."""
    steady, dim, bright = SteadyLight(), lit(scene(), 0.7, 0.7, 0.7), lit(scene(), 2.0, 2.0, 2.0)
    assert steady.steadied(dim, 0.0) is dim
    back = steady.steadied(bright, 1 / 30)
    kept = (bright < 240).all(axis=2)
    assert np.abs(back.astype(int) - dim)[kept].mean() < 3
    assert steady.steadied(dim, 2 / 30) is dim


def test_what_moves_is_no_light() -> None:
    steady = SteadyLight()
    for k in range(30):
        image = scene(100 + 8 * k)
        assert steady.steadied(image, k / 30) is image


def test_light_that_stays_is_the_light() -> None:
    steady, dim = SteadyLight(), lit(scene(), 0.6, 0.6, 0.6)
    steady.steadied(scene(), 0.0)
    assert steady.steadied(dim, 1.0) is not dim
    assert steady.steadied(dim, 1.5 + KEPT_S) is dim
    assert steady.steadied(dim, 2.0 + KEPT_S) is dim


def test_after_a_jump_what_was_learned_before_is_out_of_date() -> None:
    """A lamp that flickers, and light that goes slowly, are none; a step that is taken for good after a while is one."""
    steady, still, told = SteadyLight(), scene(), []
    slowly = [1.0 + 0.02 * k for k in range(20)]
    flickers = [1.4 * (1.0 + 0.3 * np.sin(2 * np.pi * 9.7 * k / 30)) for k in range(30)]
    for k, gain in enumerate([1.0] * 10 + slowly + [2.1] * 10 + [1.5] * 5 + flickers):
        steady.steadied(lit(still, gain, gain, gain), k / 30)
        told.append(steady.relit)
    assert np.flatnonzero(told[:45]).tolist() == [30, 40]
    assert sum(told[55:]) == 0
    other = SteadyLight()
    kept = [1.0, *[1.1] * 50]
    for k, gain in enumerate(kept):
        other.steadied(lit(still, gain, gain, gain), k / 10)
        assert other.relit == (k / 10 > KEPT_S + 0.1 and (k - 1) / 10 <= KEPT_S + 0.1)


def test_another_scene_is_let_be() -> None:
    steady = SteadyLight()
    steady.steadied(scene(), 0.0)
    black = np.zeros((480, 640, 3), np.uint8)
    assert steady.steadied(black, 0.1) is black


@given(st.data())
@MANY
def test_any_pictures(data: st.DataObject) -> None:
    steady = SteadyLight()
    for k in range(4):
        image = data.draw(pictures())
        out = steady.steadied(image, k / 30)
        assert out.shape == image.shape
        assert out.dtype == np.uint8
