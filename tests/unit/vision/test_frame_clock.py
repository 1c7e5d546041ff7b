"""Times of a steady camera smoothed; of an unsteady one left alone."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.vision.sources.phone.frame_clock import FIRST_PERIODS, LATE_PERIODS, LATELY, LEAST, FrameClock


def steadied(times_s: np.ndarray) -> np.ndarray:
    clock = FrameClock()
    told_s = np.array([clock.steady(float(time_s)) for time_s in times_s])
    assert (np.diff(told_s) > 0).all()
    return told_s


def rms_ms(found_s: np.ndarray, true_s: np.ndarray) -> float:
    off_s = found_s - true_s
    return float(1000 * np.sqrt(np.mean((off_s - np.median(off_s)) ** 2)))


def stamped_late(true_s: np.ndarray, seed: int) -> np.ndarray:
    """One in three is stamped late, by 4 ms on the average and 12 at most; the others within 0.2 ms."""
    random = np.random.default_rng(seed)
    late_s = np.where(random.random(len(true_s)) < 1 / 3, random.exponential(0.004, len(true_s)), 0.0)
    return true_s + np.minimum(late_s, 0.012) + random.normal(0, 0.0002, len(true_s))


@pytest.mark.parametrize("rate", [24.0, 29.97, 30.0])
@pytest.mark.parametrize("seed", range(4))
def test_frames_stamped_late_are_laid_on_the_cameras_own_time(rate: float, seed: int) -> None:
    """One frame in ten is left out, and the camera's clock is 50 in a million fast."""
    random = np.random.default_rng(100 + seed)
    true_s = 50.0 + np.arange(600)[random.random(600) > 0.1] / rate * (1 - 50e-6)
    came_s = stamped_late(true_s, seed)
    assert rms_ms(came_s, true_s) > 2.0
    assert rms_ms(steadied(came_s)[LEAST:], true_s[LEAST:]) < 0.8


@pytest.mark.parametrize("seed", range(4))
def test_60_frames_a_second(seed: int) -> None:
    true_s = 50.0 + np.arange(900) / 60
    came_s = true_s + np.minimum(np.random.default_rng(seed).exponential(0.002, 900), 0.012)
    assert rms_ms(came_s, true_s) > 1.5
    assert rms_ms(steadied(came_s)[60:], true_s[60:]) < 0.8  # after a second: frames so late may make it begin twice


def test_an_uneven_camera_keeps_its_times() -> None:
    """Steps from half to twice the usual, as in poor light: there is no line to lay them on."""
    times_s = 10.0 + np.cumsum(np.random.default_rng(3).uniform(0.5, 2.0, 300)) / 30
    assert np.abs(steadied(times_s) - times_s).max() < 1e-6


def test_another_rate_is_taken_up() -> None:
    """From 30 frames a second to 24, as light goes: the first few keep their own times, and none is ever far off."""
    true_s = np.concatenate([np.arange(150) / 30, 5.0 + np.arange(1, 200) / 24])
    came_s = true_s + np.random.default_rng(1).normal(0, 0.001, len(true_s))
    told_s = steadied(came_s)
    assert np.abs(told_s - true_s).max() < LATE_PERIODS / 30 + 0.003
    settled = 150 + LATELY + FIRST_PERIODS + LEAST
    assert rms_ms(told_s[settled:], true_s[settled:]) < 0.5


def test_after_a_pause_it_begins_anew() -> None:
    true_s = np.concatenate([np.arange(100) / 30, 60.013 + np.arange(100) / 30])
    assert np.abs(steadied(true_s) - true_s).max() < 1e-4


def test_one_frame_far_off_keeps_its_own_time() -> None:
    true_s = np.arange(100) / 30
    came_s = true_s.copy()
    came_s[60] += 0.022
    told_s = steadied(came_s)
    assert told_s[60] == pytest.approx(came_s[60])
    assert np.abs(np.delete(told_s - true_s, 60)).max() < 1e-4
