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


# Somebody else is really there from this mean visibility (rendered pairs 0.90 and more, leftovers of one player up to 0.68), this
# size and this far away, both in the player's trunk lengths; smaller people are far behind.
SECOND_VISIBLE, SECOND_SIZE, SECOND_APART = 0.8, 0.4, 0.45
TRUNK = ("left_shoulder", "right_shoulder", "left_hip", "right_hip")
WHOLE = (*TRUNK, "nose", "left_knee", "right_knee", "left_ankle", "right_ankle")
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


def is_another(found: Mapping[str, Array], player: Mapping[str, Array]) -> bool:
    """Whether these are another person's points, and not what is left of the player. (x, y, visibility) each."""
    seen = float(np.mean([found[name][2] for name in WHOLE]))
    own = _trunk_px(player)
    apart = [float(np.mean([points[name][k] for name in TRUNK])) for k in (0, 1) for points in (found, player)]
    far = np.hypot(apart[0] - apart[1], apart[2] - apart[3]) > SECOND_APART * own
    return seen > SECOND_VISIBLE and _trunk_px(found) > SECOND_SIZE * own and bool(far)


def _middle(points: Mapping[str, Array], part: str) -> Array:
    return np.asarray((points[f"left_{part}"][:2] + points[f"right_{part}"][:2]) / 2)


def _trunk_px(points: Mapping[str, Array]) -> float:
    return float(np.hypot(*(_middle(points, "hip") - _middle(points, "shoulder"))))
