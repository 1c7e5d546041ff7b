"""Whether a head is still: by its points, or by its picture where the points jitter."""

from __future__ import annotations

import numpy as np
import pytest

from tests.unit.vision.test_head import CENTRE, HALF, head_picture
from trainer.vision.head.stillness import Stillness

RATE = 30.0


def ask(
    move: float = 0.0, *, jitter: float = 0.0, turn: float = 0.0, noise: float = 4.0, at=CENTRE
) -> tuple[bool, bool, Stillness]:
    """By points and by picture after half a second. move, turn: px and degrees a frame; jitter: px of the points."""
    rng, still = np.random.default_rng(3), Stillness()
    points = picture = False
    for k in range(15):
        image = head_picture(turn * k, seed=2, shift=(move * k, 0.0)).astype(float)
        image = np.clip(image + rng.normal(0, noise, image.shape), 0, 255).astype(np.uint8)
        x, y = at[0] + move * k + rng.uniform(-jitter, jitter), at[1] + (-jitter if k % 2 else jitter)
        still.add(k / RATE, x, y)
        points, picture = still.by_points(HALF), still.by_picture(image, HALF)
    return points, picture, still


def test_a_head_at_rest_is_still_by_both() -> None:
    assert ask()[:2] == (True, True)


def test_a_head_at_rest_whose_points_jitter_is_still_by_its_picture_and_lies_in_their_middle() -> None:
    points, picture, still = ask(jitter=4.0)
    assert (points, picture) == (False, True)
    assert still.place == pytest.approx(CENTRE, abs=4.0)


@pytest.mark.parametrize("how", [{"move": 0.5}, {"move": -1.5}, {"turn": 3.0}, {"move": 5.0}])
def test_a_head_that_moves_or_turns_is_not(how: dict[str, float]) -> None:
    points, picture, _ = ask(jitter=4.0, **how)
    assert (points, picture) == (False, False)


@pytest.mark.parametrize(("at", "still"), [((0.0, 0.0), True), ((319.0, 239.0), True), ((-200.0, 500.0), False)])
def test_what_is_left_of_a_place_at_the_edge_tells_and_beyond_it_nothing_does(
    at: tuple[float, float], still: bool
) -> None:
    assert ask(at=at)[1] is still


def test_it_needs_a_quarter_of_a_second() -> None:
    still, image = Stillness(), head_picture(0.0, seed=2)
    for k in range(7):
        still.add(k / RATE, *CENTRE)
        assert not still.by_points(HALF)
        assert not still.by_picture(image, HALF)
