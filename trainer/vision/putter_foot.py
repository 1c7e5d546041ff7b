"""Where the shaft ends: the sole of the putter along the shaft's line, found at address."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from trainer.vision.putter_strip import XY, Ray, strip

END_LEVEL = 7.0  # grey levels of thin-thing evidence that still belong to the putter
# Beyond the shaft's foot the head still shows: half its length from heel to toe, seen from a little above, in ball diameters.
HEAD_BEYOND_FOOT = 0.65
# The ball's measured centre lies above the height of the shaft's foot by this much of its diameter (the foot is taken 1.2 cm
# above the ground, in the middle of the head; the fitted centre is a little high because light comes from above).
BALL_TO_FOOT = 0.28


def end_of_putter(thin: Any, ray: Ray, expected_px: float, ball_px: float) -> float | None:
    """Distance along the ray (px) of the shaft's foot by where the thin things end; None when nothing ends there.

    thin: (h, w) uint8 from CleanPlate.thin_things, in whose coordinates the ray is given.
    """
    first = 0.72 * expected_px
    rows = int(0.62 * expected_px)
    half = max(2, int(0.25 * ball_px))
    core = strip(thin, ray, first, rows, half).astype(np.float64).mean(axis=1)
    core = np.convolve(core, np.ones(3) / 3, mode="same")
    gap, last = 0, None
    for i, value in enumerate(core):
        if value >= END_LEVEL:
            last, gap = i, 0
        else:
            gap += 1
            if gap > 0.9 * ball_px and last is not None and first + last > 0.85 * expected_px:
                return first + last + 1.0 - HEAD_BEYOND_FOOT * ball_px
    return None


def foot_by_ball(ray: Ray, ball: XY, ball_px: float) -> float | None:
    """Distance along the ray (px) at which it reaches the ground beside the ball; None when the ball lies elsewhere."""
    drop = ray.along[1]
    if drop < 0.5:
        return None
    s = (ball[1] + BALL_TO_FOOT * ball_px - ray.y) / drop
    place = ray.place(s)
    return s if abs(place[0] - ball[0]) < 2.2 * ball_px else None


def foot_length(by_ball: float | None, by_end: float | None, ball_px: float) -> float | None:
    """The better of both. The ball tells the ground's height best, unless the putter plainly ends short of it.

    That is so in a rehearsal beside the ball, when the ball lies nearer to the camera than the putter.
    """
    if by_ball is None or (by_end is not None and by_ball - by_end > 0.4 * ball_px):
        return by_end
    return by_ball


def smear_px(before: XY | None, now: XY, exposure_share: float = 0.5) -> float:
    """Length over which a shutter open for a share of the frame time smears a thing that moved from ``before`` to ``now``."""
    return 0.0 if before is None else exposure_share * math.dist(before, now)
