"""A head's pose against its reference picture: six numbers, the columns of a state array (hypotheses, 6)."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.vision.head.ellipsoid import AXES, rotations

Floats = npt.NDArray[np.float64]

# Angles about the axes of the bowed head (rad), shift of its centre (image px), logarithm of its size.
TURN, NOD, LEAN, RIGHT, DOWN, SIZE = COLUMNS = tuple(range(6))
ROTATION, SHIFT = slice(TURN, RIGHT), slice(RIGHT, SIZE)


def head_rotations(state: Floats) -> Floats:
    """(h, 3, 3) rotation of the head in each row of the state."""
    return rotations(state[:, ROTATION] @ AXES.T)
