"""Standing figures facing the camera, with arms as asked, for tests of what is told from arm positions."""

from __future__ import annotations

import math
from typing import Iterable, Mapping

import numpy as np

from trainer.domain.observation import Observation
from trainer.domain.player_frame import PlayerFrame, Point

FRAMES = (PlayerFrame("face-on"), PlayerFrame("down-the-line"))
TRUNK_PX, SHOULDERS_PX = 130.0, 92.0
UPPER, FORE = 0.62, 0.55  # of the trunk
Arm = tuple[float, float, float, float]
# Upper arm and forearm, degrees outward from straight down (180: straight up; beyond 180 inward again), and how much of
# their length is seen: an arm that reaches toward the camera looks shorter.
DOWN: Arm = (8.0, 5.0, 1.0, 1.0)
BROW: Arm = (112.0, 247.0, 0.43, 0.93)
STEEP_BROW: Arm = (135.0, 214.0, 0.22, 0.98)
POSES: Mapping[str, tuple[Arm, Arm]] = {
    "down": (DOWN, DOWN),
    "arms out": ((90.0, 92.0, 1.0, 1.0), (88.0, 90.0, 1.0, 1.0)),
    "lead hand up": ((95.0, 178.0, 1.0, 1.0), DOWN),
    "trail hand up": (DOWN, (90.0, 175.0, 1.0, 1.0)),
    "both hands up": ((100.0, 176.0, 1.0, 1.0), (98.0, 182.0, 1.0, 1.0)),
    "trail arm straight up": (DOWN, (160.0, 165.0, 1.0, 1.0)),
    # What no order may come of.
    "pointing at the hole": ((88.0, 90.0, 1.0, 1.0), DOWN),
    "pointing away": (DOWN, (95.0, 88.0, 1.0, 1.0)),
    "pointing up the line": ((115.0, 118.0, 1.0, 1.0), DOWN),
    "shading the eyes": (DOWN, BROW),
    "shading the eyes, elbow low": (DOWN, STEEP_BROW),
    "both hands at the cap": (BROW, BROW),
    "hands on hips": ((40.0, -60.0, 1.0, 1.0), (40.0, -60.0, 1.0, 1.0)),
    "hands folded on the grip": ((10.0, -35.0, 1.0, 1.0), (10.0, -35.0, 1.0, 1.0)),
    "scratching the neck": ((146.0, 300.0, 0.87, 0.9), DOWN),
    "putter on the shoulder": (DOWN, (25.0, 190.0, 1.0, 1.0)),
    "arms folded": ((15.0, -95.0, 1.0, 1.0), (15.0, -95.0, 1.0, 1.0)),
    "shrugging": ((30.0, 75.0, 1.0, 1.0), (30.0, 75.0, 1.0, 1.0)),
}
ORDERS = {"lead hand up": "pause", "trail hand up": "next", "trail arm straight up": "next", "both hands up": "quit"}
NO_ORDER = [name for name in POSES if name not in ORDERS]


def body(
    arms: tuple[Arm, Arm],
    noise_px: float = 0.0,
    rng: np.random.Generator | None = None,
    turned: float = 1.0,
    scale: float = 1.0,
) -> dict[str, Point]:
    """arms: lead and trail (upper arm, forearm). turned: the shoulders' width as seen, as a share of the whole one.

    The lead side is at + along in the player's frame, for right-handers and left-handers alike.
    """
    rng = rng or np.random.default_rng(0)
    at: dict[str, tuple[float, float]] = {"nose": (300.0, -120.0)}
    for side, sign in (("lead", 1.0), ("trail", -1.0)):
        shoulder = (300.0 + sign * SHOULDERS_PX / 2 * turned, -150.0)
        at[f"{side}_shoulder"] = shoulder
        at[f"{side}_hip"] = (300.0 + sign * 30.0 * turned, shoulder[1] - TRUNK_PX)
        at[f"{side}_ankle"] = (300.0 + sign * 40.0 * turned, shoulder[1] - 3.1 * TRUNK_PX)
        at[f"{side}_ear"] = (300.0 + sign * 20.0 * turned, -118.0)
        place = shoulder
        upper, fore, *seen = arms[0 if side == "lead" else 1]
        for joint, deg, whole, share in zip(("elbow", "wrist"), (upper, fore), (UPPER, FORE), seen, strict=True):
            a, length = math.radians(deg), whole * share
            place = (
                place[0] + sign * math.sin(a) * length * TRUNK_PX * turned,
                place[1] - math.cos(a) * length * TRUNK_PX,
            )
            at[f"{side}_{joint}"] = place
    return {
        n: Point(scale * x + rng.normal(0, noise_px), scale * y + rng.normal(0, noise_px), 0.9)
        for n, (x, y) in at.items()
    }


def observations(
    story: Iterable[tuple[str | None, float]],
    fps: float = 30.0,
    noise_px: float = 1.5,
    seed: int = 1,
    down_the_line: bool = False,
    move_s: float = 0.35,
    scale: float = 1.0,
) -> list[Observation]:
    """story: (pose, or None for nobody; how long). The arms take move_s from one pose to the next."""
    rng = np.random.default_rng(seed)
    out: list[Observation] = []
    before, t = POSES["down"], 0.0
    for name, lasts_s in story:
        begun = t
        while t < begun + lasts_s - 1e-9:
            if name is None:
                out.append(Observation(len(out), t, None))
            else:
                share = min(1.0, (t - begun) / move_s)
                arms = tuple(
                    tuple(a + share * (b - a) for a, b in zip(old, new, strict=True))
                    for old, new in zip(before, POSES[name], strict=True)
                )
                points = body(arms, noise_px=noise_px, rng=rng, scale=scale)  # type: ignore[arg-type]
                if down_the_line:
                    points = {n: Point(math.nan, p.up_px, p.confidence, p.along_px) for n, p in points.items()}
                out.append(Observation(len(out), t, points, frame=FRAMES[down_the_line]))
            t = len(out) / fps
        if name is not None:
            before = POSES[name]
    return out
