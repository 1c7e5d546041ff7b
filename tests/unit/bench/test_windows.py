"""The ladder's window is never inside the camera's own error, and no easier to fill for it."""

from __future__ import annotations

import pytest

from tests.bench.windows import new_share, simulate
from trainer.coaching.distance.ladder import CAMERA_SHARE, WINDOW_SHARE, own_spread, window_share
from trainer.coaching.distance.putt import Putt


def test_putts_at_the_mark_are_called_in() -> None:
    assert simulate(0.0, WINDOW_SHARE, 20_000).wrongly_out > 0.18  # as it was
    assert simulate(0.0, new_share(0.0), 20_000).wrongly_out < 0.06


def test_the_goal_asks_for_no_less_than_before() -> None:
    """6 of 10 in the old window took a spread that 8 of 10 in the new one takes; a wide own spread is to be narrowed."""
    at_goal = 0.091  # 60 % called in by the old window
    assert simulate(at_goal, WINDOW_SHARE, 50_000).called_in == pytest.approx(0.60, abs=0.01)
    assert simulate(at_goal, new_share(at_goal), 50_000).called_in == pytest.approx(0.80, abs=0.03)
    assert all(simulate(own, new_share(own), 20_000).called_in < 0.75 for own in (0.13, 0.2, 0.3))


def test_in_proportion_to_the_own_spread() -> None:
    assert window_share(None, by_camera=False) == WINDOW_SHARE
    assert window_share(0.2, by_camera=True) == 0.2
    assert window_share(0.9, by_camera=True) == 0.25
    assert window_share(0.02, by_camera=True) == CAMERA_SHARE
    putts = [Putt(20.0, 4.0 * (1.1 if i % 2 else 0.9), 9.0, 0.0, 4.0) for i in range(12)]
    assert own_spread(putts[:9]) is None
    assert own_spread(putts) == pytest.approx(0.104, abs=0.001)
