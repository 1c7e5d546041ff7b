"""Coarse searches for the shaft's line: a fan of directions below the hands, and a grid of tilts of a strip."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import row_middles
from trainer.vision.putter.shaft_evidence import CAP_LEVEL, NOISE_LEVEL
from trainer.vision.putter.shaft_geometry import XY, Ray

Floats = npt.NDArray[np.float64]

# Of the fan; no study of these is kept.
FAN_DEG = 58.0  # to either side of straight down that directions are tried, degree by degree
FAN_STEP_PX, MIN_FAN_STEPS = 3.0, 12  # of drop between the places looked at along a line; how many at least
FULL_LEVEL = 0.5 * CAP_LEVEL  # grey levels with which a place counts fully
# A line's score is that (0 to 1) on the average and the share of its places above the noise; then come a bonus for directions
# about the ball's, and a cost for a line that passes the hands at the farthest.
MIN_LINE_SCORE = 0.45  # a worse one is none
TOWARD_BONUS, TOWARD_DEG = 0.25, 8.0
ASIDE_COST = 0.1
MAX_LINES = 6  # handed on to be measured
SAME_LINE = 0.6  # lines that reach the ground within this share of the farthest offset are one

# Of the strip; no study kept: a line that ends farther off than this, beside the motion's smear, is another one.
ELSEWHERE_PX = 5.0


def search_fan(
    thin: Any, hands: XY, reach_px: tuple[float, float], offset_px: float, toward_deg: float | None
) -> list[Ray]:
    """The most line-like directions below the hands, best first; rays start level with the hands.

    thin: (h, w) uint8, thin things bright. hands: in thin's coordinates. reach_px: from and to, drop below the hands.
    offset_px: how far beside the hands the line may pass. toward_deg: direction of the ball, a mild preference.
    """
    steps = max(MIN_FAN_STEPS, int((reach_px[1] - reach_px[0]) / FAN_STEP_PX))
    s = np.linspace(*reach_px, steps)
    angles_deg = np.arange(-FAN_DEG, FAN_DEG + 0.5, 1.0)
    angles = np.radians(angles_deg)
    offsets = np.arange(-offset_px, offset_px + 0.1, max(1.0, offset_px / 6.0))
    # Lines of equal drop, not of equal length, so that every direction reaches the ground.
    tan, cos = np.tan(angles), np.cos(angles)
    x = hands[0] - 0.5 + offsets[:, None, None] / cos[None, :, None] + s[None, None, :] * tan[None, :, None]
    y = np.broadcast_to(hands[1] - 0.5 + s[None, None, :], x.shape)
    soft = cv2.blur(thin, (3, 3))
    height, width = soft.shape[:2]
    xi, yi = np.rint(x).astype(np.intp), np.rint(y).astype(np.intp)
    inside = (xi >= 0) & (xi < width) & (yi >= 0) & (yi < height)
    found = np.where(inside, soft[np.clip(yi, 0, height - 1), np.clip(xi, 0, width - 1)], 0).astype(np.float32)
    score = np.minimum(found, FULL_LEVEL).mean(axis=2) / FULL_LEVEL + (found > NOISE_LEVEL).mean(axis=2)
    if toward_deg is not None:
        score = score + TOWARD_BONUS * np.exp(-(((angles_deg - toward_deg) / TOWARD_DEG) ** 2))[None, :]
    score = score - ASIDE_COST * (offsets[:, None] / max(offset_px, 1.0)) ** 2
    ends = offsets[:, None] / cos[None, :] + reach_px[1] * tan[None, :]
    rays: list[Ray] = []
    left = score.copy()
    while len(rays) < MAX_LINES:
        o, a = np.unravel_index(int(left.argmax()), left.shape)
        if left[o, a] < MIN_LINE_SCORE:
            break
        rays.append(Ray(hands[0] + float(offsets[o] / cos[a]), hands[1], float(angles_deg[a])))
        left[np.abs(ends - ends[o, a]) < SAME_LINE * offset_px] = -1.0
    return rays


def best_tilt(
    level: Floats, start_x: Floats, end_x: Floats, cost: Floats, smear_px: float
) -> tuple[float, float, float]:
    """(x at the first row, x at the last row, clearness 0..1) of the straight line with the most evidence.

    level: (rows, columns), column ``half`` is x = 0. start_x, end_x: candidates. cost: (n_start, n_end), in the unit
    of the mean level. smear_px: width over which motion spreads the line, on average. clearness: how far the best
    line leads before the best of those that end elsewhere.
    """
    rows, columns = level.shape
    half = columns // 2
    width = max(3, round(smear_px / 2) * 2 + 1)
    soft = cv2.blur(level, (width, 1), borderType=cv2.BORDER_CONSTANT)
    t = row_middles(rows)
    x = start_x[:, None, None] * (1 - t) + end_x[None, :, None] * t
    x += half
    np.rint(x, out=x)
    np.maximum(x, 0, out=x)
    np.minimum(x, columns - 1, out=x)
    x += np.arange(0, rows * columns, columns)
    score = soft.take(x.astype(np.intp)).mean(axis=2) - cost
    i, j = np.unravel_index(int(score.argmax()), score.shape)
    best = float(score[i, j])
    others = score.max(axis=0)[np.abs(end_x - end_x[j]) > ELSEWHERE_PX + width]
    clear = 1.0 if others.size == 0 else (best - float(others.max())) / max(abs(best), 1e-6)
    return float(start_x[i]), float(end_x[j]), min(1.0, max(0.0, clear))
