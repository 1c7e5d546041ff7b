"""Guesses of where a ball stopped: what is right, where they lean, and that too few say nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from trainer.coaching.distance.guesses import guesses_of, was
from trainer.coaching.distance.putt import Guess, Putt

PUTT = Putt(back_cm=25.0, rolled_m=4.0, green_speed_ft=9.0, target_m=4.0)
SHARE = 0.1


def putt(rolled_m: float, guess: Guess | None, target_m: float | None = 4.0) -> Putt:
    return replace(PUTT, rolled_m=rolled_m, guess=guess, target_m=target_m)


def test_what_would_have_been_right() -> None:
    assert [was(putt(m, None), SHARE) for m in (3.5, 3.7, 4.3, 4.5)] == ["short", "right", "right", "long"]
    assert was(putt(4.0, None, target_m=None), SHARE) is None


def test_guesses_are_counted_by_where_the_ball_stopped() -> None:
    said: list[tuple[float, Guess]] = [
        (3.0, "short"), (3.1, "right"), (3.2, "short"), (4.0, "right"), (4.1, "long"), (5.0, "long"),
    ]  # fmt: skip
    found = guesses_of([*(putt(m, g) for m, g in said), putt(9.0, None)], SHARE)
    assert found is not None
    assert (found.right.good, found.right.total) == (4, 6)
    assert found.of_each == {"short": (2, 3), "right": (1, 2), "long": (1, 1)}
    assert (found.longer, found.shorter) == (2, 0)
    assert "2 of 3 that ended short" in found.words
    assert "mostly" not in found.words  # two are no lean


def test_a_lean_is_told_and_too_few_are_not() -> None:
    lean = [putt(3.0, "right")] * 5 + [putt(4.0, "right")] * 2
    found = guesses_of(lean, SHARE)
    assert found is not None
    assert found.words.endswith("wrong guesses are mostly too long")
    assert guesses_of(lean[:4], SHARE) is None
    assert guesses_of([putt(4.0, "right", None)] * 9, SHARE) is None


@pytest.mark.parametrize("guess", ["short", "right", "long"])
def test_always_the_same_guess_is_not_knowing(guess: Guess) -> None:
    found = guesses_of([putt(m, guess) for m in (3.0, 4.0, 5.0)] * 4, SHARE)
    assert found is not None
    assert found.right.good == 4
