"""Noise moves what the fitted shapes tell together less than what the best of them tells alone."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.stroke.backstroke import Backstroke, fit_backstroke
from trainer.stroke.filters import smooth
from trainer.stroke.path import Path

LENGTH_CM, BEGIN_S, LASTS_S, NOISE_CM = 25.0, 1.0, 0.66, 0.15
T = np.arange(0.0, 1.7, 1 / 30)


def fitted(seed: int) -> Backstroke:
    """Neither of the textbook shapes: their mean."""
    u = np.clip((T - BEGIN_S) / LASTS_S, 0, 1)
    way = (u**3 * (10 - 15 * u + 6 * u * u) + (1 - np.cos(np.pi * u)) / 2) / 2
    x = -LENGTH_CM * way + np.random.default_rng(seed).normal(0, NOISE_CM, len(T))
    seen = np.ones(len(T), bool)
    found = fit_backstroke(Path(T, smooth(T, x, 12.0), x, seen, "putter", 0.4), BEGIN_S + 0.09, BEGIN_S + LASTS_S)
    assert found is not None
    return found


def test_noise_moves_all_shapes_together_less_than_the_best_alone() -> None:
    backs = [fitted(seed) for seed in range(16)]
    best = [back.fits[int(np.argmax(back.weights))] for back in backs]
    for together, alone in (
        ([back.arrive_s for back in backs], [fit.arrive_s for fit in best]),
        ([back.onset_s for back in backs], [fit.onset_s for fit in best]),
    ):
        assert np.std(together) < 0.9 * np.std(alone)
    assert np.mean([back.arrive_s for back in backs]) == pytest.approx(BEGIN_S + LASTS_S, abs=0.015)
    assert all(back.weights.sum() == pytest.approx(1.0) for back in backs)


def test_a_place_that_it_never_comes_to_has_no_time() -> None:
    back = fitted(0)
    half_s = back.passes(LENGTH_CM / 2)
    assert half_s == pytest.approx(BEGIN_S + LASTS_S / 2, abs=0.01)
    assert back.passes(2 * LENGTH_CM) is None
