"""Where a ray from the camera meets a plane, and where it never does."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.domain.perspective import on_plane

UP = np.array([0.0, -1.0, 0.0])  # camera axes: y down


def test_a_ray_that_looks_down_meets_the_floor() -> None:
    assert on_plane(np.array([0.1, 0.5, 1.0]), UP, -60.0) == pytest.approx(np.array([12.0, 60.0, 120.0]))


@pytest.mark.parametrize("y", [-0.5, 0.0])
def test_one_that_looks_up_or_level_never_does(y: float) -> None:
    assert np.isnan(on_plane(np.array([0.1, y, 1.0]), UP, -60.0)).all()
