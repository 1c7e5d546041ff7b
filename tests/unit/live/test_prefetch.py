"""Frames through the pipeline, bodies found ahead or in turn: the same either way, what fails after what was good."""

from __future__ import annotations

from typing import Any, Callable, Iterator

import numpy as np
import pytest

from trainer.domain.observation import Frame
from trainer.errors import ClipError
from trainer.live.prefetch import run_in_turn, run_pipeline
from trainer.testing.fakes import FakeClock, ListSource

FRAMES = [Frame(k, k / 30, np.zeros((4, 4, 3), np.uint8)) for k in range(12)]
Runs = Callable[..., Iterator[tuple[Frame, Any, float]]]


class Halves:
    """Says which frames each half of the work has seen so far; fails in one."""

    def __init__(self, fails_at: int = -1) -> None:
        self.fails_at = fails_at
        self.found, self.stepped = 0, 0

    def find_body(self, frame: Frame) -> tuple[int, int]:
        if frame.index == self.fails_at:
            raise ClipError("stops", "clip", "copy it again")
        self.found += 1
        return frame.index, self.found

    def step(self, frame: Frame, body: tuple[int, int]) -> tuple[int, tuple[int, int]]:
        self.stepped += 1
        return self.stepped, body


@pytest.mark.parametrize("run", [run_pipeline, run_in_turn])
def test_every_frame_goes_through_both_halves_in_order(run: Runs) -> None:
    steps = list(run(ListSource(FRAMES), Halves(), FakeClock()))
    assert [(frame.index, step) for frame, step, _ in steps] == [(k, (k + 1, (k, k + 1))) for k in range(12)]


@pytest.mark.parametrize("run", [run_pipeline, run_in_turn])
def test_a_failure_comes_after_what_was_good(run: Runs) -> None:
    steps = run(ListSource(FRAMES), Halves(fails_at=5), FakeClock())
    assert [next(steps)[0].index for _ in range(5)] == [0, 1, 2, 3, 4]
    with pytest.raises(ClipError):
        next(steps)
