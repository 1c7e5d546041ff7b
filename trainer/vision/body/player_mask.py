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


def capsules(body: Mapping[str, Any], ball: tuple[float, float] | None) -> list[tuple[Floats, Floats, float]]:
    """(end, end, half width) px. body: points named left_/right_ or lead_/trail_; those missing are left out."""
    sides = ("lead", "trail") if any(n.startswith("lead_") for n in body) else ("left", "right")

    def at(name: str) -> Floats | None:
        point = body.get(name)
        return None if point is None else np.asarray(point[:2], dtype=np.float64)

    def middle(name: str) -> Floats | None:
        both = [p for s in sides if (p := at(f"{s}_{name}")) is not None]
        return np.mean(both, axis=0) if both else None

    legs = []
    for side in sides:
        hip, knee, ankle = at(f"{side}_hip"), at(f"{side}_knee"), at(f"{side}_ankle")
        if hip is not None and knee is not None and ankle is not None:
            legs.append(float(np.linalg.norm(hip - knee) + np.linalg.norm(knee - ankle)))
    if not legs:
        return []
    leg = float(np.mean(legs))
    out: list[tuple[Floats, Floats, float]] = []
    for side in sides:
        for a, b, half in BONES:
            start, end = at(f"{side}_{a}"), at(f"{side}_{b}")
            if start is not None and end is not None:
                out.append((start, end, half * leg))
    shoulders, hips, ears, wrists = middle("shoulder"), middle("hip"), middle("ear"), middle("wrist")
    if shoulders is not None and hips is not None:
        out.append((shoulders, hips, TRUNK * leg))
    if ears is not None and shoulders is not None:
        out.append((ears, (ears + shoulders) / 2, HEAD * leg))
    if wrists is not None:
        out.append((wrists, wrists, HANDS * leg))
        if ball is not None:
            out.append((wrists, np.asarray(ball, dtype=np.float64), SHAFT * leg))
    if ball is not None:
        out.append((np.asarray(ball, dtype=np.float64),) * 2 + (BALL * leg,))
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
