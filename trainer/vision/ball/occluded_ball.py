"""The ball of a down-the-line picture, half hidden behind the putter head and the shaft.

Seen from behind the player the putter stands before the ball: of 9 px of ball (640x480, 3 m) often only a cap is left, cut in
two by the shaft, too little for a circle to be fitted. But where it must lie is known: beyond the toes, about as far away as
the feet. So the brightest spot there that is no larger than a ball is taken, and its two edges are read, because the outer
edge is what the eye line needs (the cap of a ball that is hidden up to two thirds is still 0.94 of its diameter wide).
"""

from __future__ import annotations

import math
from typing import Any

import cv2
import numpy as np

from trainer.vision.ball.circle_fit import EDGE_LEVEL, whiteness
from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.ball.search import USUAL_DIAMETER_PER_LEG
from trainer.vision.ball.shown import Shown, shown_as
from trainer.vision.body.points import BodyPoints, leg_length_px

Box = tuple[int, int, int, int]

# Where a ball may lie, in leg lengths (hip to knee to ankle): beyond the toes, and above to below the middle of heels and toes in
# the picture. 69 rendered addresses: 0.11 to 0.55 and -0.10 to 0.06.
BEYOND_TOES, BELOW_FEET = (0.07, 0.75), (-0.16, 0.12)
# Grey levels over the ground: what is left is small, so it must stand out, from a patterned ground the more. On 29 rendered
# grounds without a pattern a twentieth of what lies around stands out by 1 to 8 levels, a ball by 36 and more in one of the ways;
# at 28 levels a putter alone was taken for one in 11 of 16 pictures without a ball, at 40 in 3.
LEAST_CONTRAST: dict[Shown, float] = {"plain": 40.0, "warm": 50.0}  # a shoe's leather comes to 42 in warmth
ABOVE_GROUND = 6.0  # times what nine tenths of the box stand out by at most; no study kept, nor of the next four
LEVELS = (0.4, 0.5, 0.6, 0.7, 0.8)  # of the contrast of the spot: the lowest that leaves out a pale putter head
WIDTH, HEIGHT = (0.35, 1.3), (0.2, 1.3)  # what shows of a ball, in diameters of a usual one
SHAFT = 0.35  # width of the gap that it may leave, likewise
UPRIGHT = 1.4  # times as high as wide: tape on the shaft
ALONE = 0.75  # the second best spot must have less than this of the best one's contrast, else neither is believed
CONFIDENCE = 0.5  # of a ball so found, whatever it looks like; no study kept


def ball_behind_putter(image: Any, body: BodyPoints) -> BallSeenImage | None:
    """The ball's visible part, as if it were a whole one: x, y its middle, diameter_px its width; None when not seen for certain.

    image: (h, w, 3) uint8 BGR; body: the pose model's names -> x px, y px, visibility.
    """
    box, usual = _box(body, image.shape[1], image.shape[0])
    if box is None:
        return None
    ways: tuple[Shown, ...] = ("plain", "warm")
    found = [spot for how in ways if (spot := _brightest(image, how, box, usual)) is not None]
    found.sort(key=lambda f: f[0], reverse=True)
    if len(found) > 1:  # both ways must mean the same, or one be far the clearer
        (peak, ball), (other_peak, other) = found
        if math.dist((ball.x, ball.y), (other.x, other.y)) > usual and other_peak > ALONE * peak:
            return None
    return found[0][1] if found else None


def _brightest(image: Any, how: Shown, box: Box, usual: float) -> tuple[float, BallSeenImage] | None:
    """The brightest spot in a box and its contrast, if it stands alone. usual: a ball's diameter (px)."""
    x0, y0, x1, y1 = box
    edge = math.ceil(1.5 * usual)
    top, left = max(0, y0 - edge), max(0, x0 - edge)
    white = cv2.GaussianBlur(whiteness(shown_as(image[top : y1 + edge, left : x1 + edge], how)), (0, 0), 0.6)
    size = int(2.0 * usual) | 1
    ground = cv2.medianBlur(white, min(size | 1, 255))
    lifted = cv2.subtract(white, ground)
    found: list[tuple[float, BallSeenImage]] = []
    inside = lifted[y0 - top : y1 - top, x0 - left : x1 - left]
    rest = inside.copy()
    least = max(LEAST_CONTRAST[how], ABOVE_GROUND * float(np.percentile(inside, 90)) if inside.size else 0.0)
    while len(found) < 3 and rest.size:
        _, peak, _, at = cv2.minMaxLoc(rest)
        if peak < least:
            break
        spot = _spot(lifted, (at[0] + x0 - left, at[1] + y0 - top), float(peak), usual)
        if spot is not None:
            found.append((float(peak), BallSeenImage(spot[0] + left, spot[1] + top, spot[2], CONFIDENCE, True)))
        reach = round(usual)
        rest[max(0, at[1] - reach) : at[1] + reach + 1, max(0, at[0] - reach) : at[0] + reach + 1] = 0
        if not found and peak < 2 * least and spot is None:
            break
    if not found or (len(found) > 1 and found[1][0] > ALONE * found[0][0]):
        return None
    return found[0]


def _box(body: BodyPoints, width: int, height: int) -> tuple[Box | None, float]:
    """x0, y0, x1, y1 (px) of where the ball may lie, and a usual ball's diameter (px)."""
    leg = leg_length_px(body)
    names = [f"{side}_{part}" for side in ("left", "right") for part in ("toe", "heel")]
    if leg is None or any(n not in body for n in names):
        return None, 0.0
    toes, heels = (
        np.mean([body[f"{side}_{part}"][:2] for side in ("left", "right")], axis=0) for part in ("toe", "heel")
    )
    away = 1.0 if toes[0] > heels[0] else -1.0
    ends = sorted(float(toes[0]) + away * share * leg for share in BEYOND_TOES)
    feet = float(toes[1] + heels[1]) / 2
    box = (
        max(0, int(ends[0])), max(0, int(feet + BELOW_FEET[0] * leg)),
        min(width, int(ends[1]) + 1), min(height, int(feet + BELOW_FEET[1] * leg) + 1),
    )  # fmt: skip
    usable = box[2] - box[0] > 4 and box[3] - box[1] > 4
    return (box if usable else None), USUAL_DIAMETER_PER_LEG * leg


def _spot(lifted: Any, at: tuple[int, int], peak: float, usual: float) -> tuple[float, float, float] | None:
    """Middle x, y and width (px, patch coordinates) of the bright spot around a pixel; None when it is no piece of a ball."""
    for level in LEVELS:
        mask = (lifted >= level * peak).astype(np.uint8)
        reach = round(2 * usual)
        y0, x0 = max(0, at[1] - reach), max(0, at[0] - reach)
        near = mask[y0 : at[1] + reach + 1, x0 : at[0] + reach + 1]
        gap = np.ones((1, max(1, round(SHAFT * usual))), np.uint8)
        joined = cv2.morphologyEx(near, cv2.MORPH_CLOSE, gap)
        _, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
        label = int(labels[at[1] - y0, at[0] - x0])
        if label == 0:
            continue
        w, h = int(stats[label, cv2.CC_STAT_WIDTH]), int(stats[label, cv2.CC_STAT_HEIGHT])
        if (
            not (WIDTH[0] * usual < w < WIDTH[1] * usual and HEIGHT[0] * usual < h < HEIGHT[1] * usual)
            or h > UPRIGHT * w
        ):
            continue
        top = int(stats[label, cv2.CC_STAT_TOP]) + y0
        rows = range(top, top + h)
        edges = [
            e for y in rows if (e := _edges(lifted[y], labels[y - y0] == label, x0, EDGE_LEVEL * peak)) is not None
        ]
        if not edges:
            return None
        widest = sorted(edges, key=lambda e: e[0] - e[1])[: max(1, len(edges) // 2)]
        a, b = (float(np.mean([e[k] for e in widest])) for k in (0, 1))
        return (a + b) / 2, top + h / 2, b - a
    return None


def _edges(row: Any, inside: Any, x0: int, level: float) -> tuple[float, float] | None:
    """Where one row's brightness falls through the level left and right of the spot, to a part of a pixel (px)."""
    columns = np.flatnonzero(inside)
    if not len(columns):
        return None
    a, b = int(columns[0]) + x0, int(columns[-1]) + x0
    return _cross(row, a, -1, level), _cross(row, b, 1, level)


def _cross(row: Any, start: int, step: int, level: float) -> float:
    """Outward from a column, the place (px; the first pixel's middle is 0.5) where the row falls below the level."""
    k = start
    while 0 <= k + step < len(row) and row[k] < level:  # the spot's own border may lie below it already
        k -= step
        if abs(k - start) > 3:
            break
    while 0 <= k + step < len(row) and row[k + step] >= level:
        k += step
    if not 0 <= k + step < len(row):
        return k + 0.5
    high, low = float(row[k]), float(row[k + step])
    return k + 0.5 + step * min(1.0, max(0.0, (high - level) / max(high - low, 1e-6)))
