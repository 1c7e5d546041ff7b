"""The stretch of the picture that the player and the putter fill, roughly: capsules around the bones. Pure numpy."""

from __future__ import annotations

from typing import Any, Mapping

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# Half widths in leg lengths (hip to knee to ankle, about 80 cm), clothes included: by eye on rendered players, generous.
BONES = (
    ("hip", "knee", 0.17), ("knee", "ankle", 0.12), ("shoulder", "elbow", 0.12), ("elbow", "wrist", 0.12),
    ("heel", "toe", 0.09), ("ankle", "heel", 0.10), ("ankle", "toe", 0.09), ("shoulder", "hip", 0.22),
)  # fmt: skip
TRUNK, HEAD, HANDS, SHAFT, BALL = 0.30, 0.26, 0.22, 0.05, 0.12
SAMPLES = 12


Capsule = tuple[Floats, Floats, float]  # end, end, half width


class _Joints:
    """Points of a body as arrays (2,); sides: "lead" and "trail", or "left" and "right"."""

    def __init__(self, body: Mapping[str, Any]) -> None:
        self._body = body
        self.sides = ("lead", "trail") if any(n.startswith("lead_") for n in body) else ("left", "right")

    def at(self, name: str) -> Floats | None:
        point = self._body.get(name)
        return None if point is None else np.asarray(point[:2], dtype=np.float64)

    def middle(self, name: str) -> Floats | None:
        """Of both sides, or the one that is there."""
        both = [p for s in self.sides if (p := self.at(f"{s}_{name}")) is not None]
        return np.mean(both, axis=0) if both else None

    def leg_px(self) -> float | None:
        """Mean hip-knee-ankle length."""
        legs = []
        for side in self.sides:
            hip, knee, ankle = (self.at(f"{side}_{name}") for name in ("hip", "knee", "ankle"))
            if hip is not None and knee is not None and ankle is not None:
                legs.append(float(np.linalg.norm(hip - knee) + np.linalg.norm(knee - ankle)))
        return float(np.mean(legs)) if legs else None


def capsules(body: Mapping[str, Any], ball: tuple[float, float] | None) -> list[Capsule]:
    """(end, end, half width) px. body: points named left_/right_ or lead_/trail_; those missing are left out."""
    joints = _Joints(body)
    leg = joints.leg_px()
    if leg is None:
        return []
    out: list[Capsule] = []
    for side in joints.sides:
        for a, b, half in BONES:
            start, end = joints.at(f"{side}_{a}"), joints.at(f"{side}_{b}")
            if start is not None and end is not None:
                out.append((start, end, half * leg))
    shoulders, hips, ears = (joints.middle(name) for name in ("shoulder", "hip", "ear"))
    if shoulders is not None and hips is not None:
        out.append((shoulders, hips, TRUNK * leg))
    if ears is not None and shoulders is not None:
        out.append((ears, (ears + shoulders) / 2, HEAD * leg))
    return out + _putter_capsules(joints.middle("wrist"), ball, leg)


def _putter_capsules(wrists: Floats | None, ball: tuple[float, float] | None, leg_px: float) -> list[Capsule]:
    """Hands, shaft and ball."""
    out: list[Capsule] = []
    place = None if ball is None else np.asarray(ball, dtype=np.float64)
    if wrists is not None:
        out.append((wrists, wrists, HANDS * leg_px))
        if place is not None:
            out.append((wrists, place, SHAFT * leg_px))
    if place is not None:
        out.append((place, place, BALL * leg_px))
    return out


def inside_player(edges: Floats, body: Mapping[str, Any], ball: tuple[float, float] | None) -> Floats:
    """(n,) share of each edge (n, 4: x1, y1, x2, y2 px) that lies on the player or the putter."""
    share = np.linspace(0.0, 1.0, SAMPLES)[:, None]
    places = edges[:, None, :2] + (edges[:, None, 2:] - edges[:, None, :2]) * share  # (n, samples, 2)
    inside = np.zeros(places.shape[:2], dtype=bool)
    for start, end, half in capsules(body, ball):
        run = end - start
        reach = np.clip(((places - start) @ run) / max(float(run @ run), 1e-9), 0.0, 1.0)
        inside |= np.linalg.norm(places - start - reach[..., None] * run, axis=-1) < half
    return np.asarray(inside.mean(axis=1))
