"""A picture that comes again while something moves shows nothing of its own time; a still one does."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from trainer.vision.repeated import LONGEST_S, RepeatedPictures


def picture(left: int) -> Any:
    image = np.full((48, 64, 3), 40, np.uint8)
    image[:, left : left + 8] = 200
    return image


def seen(lefts: list[int], step_s: float = 1 / 30) -> list[bool]:
    watch = RepeatedPictures()
    return [watch.see(picture(left), step_s * k) for k, left in enumerate(lefts)]


def test_a_picture_that_comes_again_while_something_moves() -> None:
    assert seen([0, 8, 8, 16, 16, 16, 24]) == [False, False, True, False, True, True, False]


def test_nothing_moves_nothing_is_repeated() -> None:
    assert not any(seen([8] * 9))


@pytest.mark.parametrize("step_s", [1 / 30, 1 / 60])
def test_what_stays_is_a_still_picture_after_all(step_s: float) -> None:
    told = seen([0, 8, *[8] * 12], step_s)
    assert sum(told) == int(LONGEST_S / step_s + 1e-9)
    assert not any(told[-3:])


def test_faint_noise_is_no_motion() -> None:
    watch, random = RepeatedPictures(), np.random.default_rng(1)
    told = []
    for k in range(20):
        noisy = picture(8) + random.integers(0, 9, (48, 64, 3), np.uint8)
        told += [watch.see(noisy, k / 30), watch.see(noisy, k / 30 + 0.01)]
    assert not any(told)
