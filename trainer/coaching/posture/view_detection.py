"""From where the camera looks and which way the player putts, proposed from one address; the user has the last word."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Mapping

import numpy as np

from trainer.domain.observation import Handedness, View

# Width of the shoulders over the length of the trunk in the picture: rendered face-on 0.7 to 1.1, down-the-line 0 to 0.2,
# both with the camera up to ten degrees off.
FACE_ON_FROM = 0.45
SURE_BY = 0.2  # this far from the border the view is sure
# How much lower the trail hand is on the grip, over the leg's length: rendered 0.03 to 0.11 as the pose model marks it.
LOWER_HAND_SURE = 0.05
NEEDED = ("shoulder", "hip", "knee", "ankle", "wrist", "index", "heel", "toe")


@dataclass(frozen=True, slots=True)
class DetectedView:
    """view and handedness as proposed, each with a confidence 0..1; facing: where the player looks in a side view.

    A player seen from behind down the line who faces the picture's right is right-handed. A camera that looks back along the line
    from the target's side shows the mirror image: it is taken for the other hand, so the user is asked to confirm.
    """

    view: View
    view_confidence: float
    handedness: Handedness
    handedness_confidence: float
    facing: str | None


def view_by_width(width: float) -> tuple[View, float]:
    """The view and how sure it is, 0..1. width: of the shoulders over the length of the trunk, in the picture."""
    view: View = "face-on" if width > FACE_ON_FROM else "down-the-line"
    return view, min(1.0, abs(width - FACE_ON_FROM) / SURE_BY)


def detect_view(points: Mapping[str, Any]) -> DetectedView | None:
    """points: the pose model's names (left_/right_) -> x px, y px, visibility; None when the player is not all there."""
    if any(f"{side}_{part}" not in points for side in ("left", "right") for part in NEEDED) or "nose" not in points:
        return None

    def at(name: str) -> Any:
        return np.asarray(points[name][:2], dtype=np.float64)

    def middle(part: str) -> Any:
        return (at(f"left_{part}") + at(f"right_{part}")) / 2

    legs = [
        math.dist(at(f"{s}_hip"), at(f"{s}_knee")) + math.dist(at(f"{s}_knee"), at(f"{s}_ankle"))
        for s in ("left", "right")
    ]
    leg = float(np.mean(legs))
    trunk = float(np.linalg.norm(middle("shoulder") - middle("hip")))
    if leg <= 0 or trunk <= 0:
        return None
    view, sure = view_by_width(abs(float(at("left_shoulder")[0] - at("right_shoulder")[0])) / trunk)
    if view == "face-on":
        lower = [float(at(f"right_{part}")[1] - at(f"left_{part}")[1]) / leg for part in ("wrist", "index")]
        sign = float(np.mean(lower))
        hand_sure, facing = min(1.0, abs(sign) / LOWER_HAND_SURE), None
    else:
        feet = float(np.mean([at(f"{s}_toe")[0] - at(f"{s}_heel")[0] for s in ("left", "right")])) / leg
        face = float(at("nose")[0] - middle("hip")[0]) / leg
        sign = feet / 0.25 + face / 0.5  # rendered: toes 0.25 legs before the heels, nose 0.5 before the hips
        hand_sure = min(1.0, abs(sign))
        facing = "right" if sign > 0 else "left"
    return DetectedView(view, sure, "right" if sign > 0 else "left", hand_sure * sure, facing)
