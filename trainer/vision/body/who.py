"""Which of several people is the player: who stands as one does over a putt. A coach, a friend or a passer-by does not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[Any]

# In lengths of the trunk, shoulders to hips. Of 60 rendered players at address the wrists are 0.34 apart at most and 0.03 and
# more under the hips' middle; a coach who shows something with both hands has them 0.17 above it.
HANDS_APART, LOW = 0.45, -0.05
BOWED = 0.5  # nose over the shoulders: 0.45 at most at address; who looks ahead has it higher


OVER_A_BALL = 3.0  # likeness of a player at address; of a coach who folds his hands and looks ahead 2


def holds_a_putter(points: Mapping[str, Array]) -> bool:
    """Both hands together, as low as the hips. points: name -> (x, y, ...) px."""
    trunk = _trunk_px(points)
    left, right = points["left_wrist"][:2], points["right_wrist"][:2]
    together = float(np.hypot(*(left - right))) < HANDS_APART * trunk
    return together and bool((left[1] + right[1]) / 2 - _middle(points, "hip")[1] > LOW * trunk)


def likeness(points: Mapping[str, Array]) -> float:
    """0 to OVER_A_BALL: the more, the more like somebody who is about to putt."""
    bowed = _middle(points, "shoulder")[1] - points["nose"][1] < BOWED * _trunk_px(points)
    return 2.0 * holds_a_putter(points) + 1.0 * bool(bowed)


def _middle(points: Mapping[str, Array], part: str) -> Array:
    return np.asarray((points[f"left_{part}"][:2] + points[f"right_{part}"][:2]) / 2)


def _trunk_px(points: Mapping[str, Array]) -> float:
    return float(np.hypot(*(_middle(points, "hip") - _middle(points, "shoulder"))))
