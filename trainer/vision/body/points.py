"""The pose model's points as the rest of vision is handed them, and the lengths that are read from them."""

from __future__ import annotations

import math
from typing import Mapping

# names of POSE_POINTS, e.g. "left_ankle" -> (x px, y px, visibility)
BodyPoints = Mapping[str, tuple[float, float, float]]

MIN_VISIBILITY = 0.3  # below it the model invents a hidden limb rather than sees it
HANDS = ("left_wrist", "right_wrist", "left_index", "right_index")


def leg_length_px(body: BodyPoints | None) -> float | None:
    """Mean hip-knee-ankle length in the picture (px) of the legs that are seen; None when neither is."""
    lengths = []
    for side in ("left", "right"):
        joints = [(body or {}).get(f"{side}_{name}") for name in ("hip", "knee", "ankle")]
        hip, knee, ankle = joints
        if hip and knee and ankle and min(hip[2], knee[2], ankle[2]) > MIN_VISIBILITY:
            lengths.append(math.dist(hip[:2], knee[:2]) + math.dist(knee[:2], ankle[:2]))
    lengths = [length for length in lengths if length > 0]
    return sum(lengths) / len(lengths) if lengths else None


def looks_face_on(body: BodyPoints, leg_px: float) -> bool:
    """Shoulders as wide as from the front, not one behind the other."""
    left, right = body.get("left_shoulder"), body.get("right_shoulder")
    return left is None or right is None or abs(left[0] - right[0]) > 0.25 * leg_px
