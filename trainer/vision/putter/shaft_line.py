"""The shaft as a line: looked for in a fan below the hands, then measured to a fraction of a pixel along a strip."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import inverse_2x2
from trainer.vision.numeric import middle as median
from trainer.vision.putter.background_model import BackgroundModel
from trainer.vision.putter.shaft_geometry import XY, Ray, strip

Floats = npt.NDArray[np.float64]

ROW_PX = 3.0  # rows of the strip, px along the shaft
NOISE_LEVEL = 5.0  # grey levels: what sensor noise leaves of a difference after averaging along a row
CAP_LEVEL = 40.0  # a glint must not outweigh the rest of the shaft
FAN_DEG = 58.0
_HALF_SUM = np.full((1, 3), 0.5, np.float32)
MIN_MASS = 6.0  # evidence in a row (grey level px) below which it says nothing
FULL_MASS = 120.0


@dataclass(frozen=True, slots=True)
class Middle:
    """x where the rows begin and where they end (px), their covariance; share of rows seen; mean mass of these."""

    x0: float
    x1: float
    share: float
    mass: float
    covariance: Floats


def search_fan(
    thin: Any, hands: XY, reach_px: tuple[float, float], offset_px: float, toward_deg: float | None, most: int = 6
) -> list[Ray]:
    """The most line-like directions below the hands, best first; rays start level with the hands.

    thin: (h, w) uint8, thin things bright. hands: in thin's coordinates. reach_px: from and to, drop below the hands.
    offset_px: how far beside the hands the line may pass. toward_deg: direction of the ball, a mild preference.
    """
    steps = max(12, int((reach_px[1] - reach_px[0]) / 3.0))
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
    score = np.minimum(found, 0.5 * CAP_LEVEL).mean(axis=2) / (0.5 * CAP_LEVEL) + (found > NOISE_LEVEL).mean(axis=2)
    if toward_deg is not None:
        score = score + 0.25 * np.exp(-(((angles_deg - toward_deg) / 8.0) ** 2))[None, :]
    score = score - 0.1 * (offsets[:, None] / max(offset_px, 1.0)) ** 2
    foot = offsets[:, None] / cos[None, :] + reach_px[1] * tan[None, :]
    rays: list[Ray] = []
    left = score.copy()
    while len(rays) < most:
        o, a = np.unravel_index(int(left.argmax()), left.shape)
        if left[o, a] < 0.45:
            break
        rays.append(Ray(hands[0] + float(offsets[o] / cos[a]), hands[1], float(angles_deg[a])))
        left[np.abs(foot - foot[o, a]) < 0.6 * offset_px] = -1.0
    return rays


def likeness(image: Any, ray: Ray, start: float, length: float, side_px: int) -> float:
    """0..1: how much the picture along the ray looks like a thin thing, not like an edge of something.

    A shaft has the same background on both sides over most of its length; the edge of a trouser leg has not.
    """
    rows = strip(image, ray, start, max(8, int(length / 3)), side_px + 2, 3.0).astype(np.float32)
    left, right = rows[:, :3].mean(axis=1), rows[:, -3:].mean(axis=1)
    core = rows[:, side_px + 1 : side_px + 4].mean(axis=1)
    unlike = np.abs(left - right).sum(axis=1)
    contrast = np.minimum(np.abs(core - left).sum(axis=1), np.abs(core - right).sum(axis=1))
    return float(np.median(contrast / (contrast + unlike + 8.0)))


def evidence(
    image: Any,
    plate: BackgroundModel,
    ray: Ray,
    start: float,
    length: float,
    half: int,
    row_px: float = ROW_PX,
    shade: bool = True,
) -> Floats:
    """(rows, 2 half + 1) grey levels by which the picture differs from the plate, noise taken off; rows of row_px.

    image: the uint8 BGR inside the plate's box, in which ``ray`` is given, too. shade False: what is only a darker
    shade of the plate's own colour, as a shadow on the ground is, does not count.
    """
    count = max(4, int(length / row_px))
    size = (2 * half + 1, count)
    seen = strip(image, ray, start, count * 3, half, row_px / 3)
    clean = strip(plate.picture, ray, start, count * 3, half, row_px / 3)
    rows = cv2.resize(cv2.subtract(seen, clean, dtype=cv2.CV_32F), size, interpolation=cv2.INTER_AREA)  # mean of 3 by 1
    if not shade:
        ground = cv2.resize(clean, size, interpolation=cv2.INTER_AREA)
        darker = (rows * ground).sum(axis=2) / np.maximum((ground * ground).sum(axis=2), 1.0)
        rows = rows - np.minimum(darker, 0.0)[:, :, None] * ground
    level = cv2.transform(np.abs(rows), _HALF_SUM)
    if shade:
        known = strip(plate.seen, ray, start, count, half, row_px)
        guessed = known < 128
        if guessed.any():
            # Where the plate is but a guess, the picture itself must show something thin: else a putter that has left
            # would leave its ghost behind, made of what was behind it.
            own = cv2.resize(seen, size, interpolation=cv2.INTER_AREA).astype(np.float32)
            beside = np.median(own, axis=1, keepdims=True)
            thin = cv2.transform(np.abs(own - beside), _HALF_SUM)
            level = np.where(guessed, np.minimum(level, thin), level)
    clipped: Floats = np.clip(level - NOISE_LEVEL, 0.0, CAP_LEVEL).astype(np.float64)
    return clipped


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
    t = (np.arange(rows) + 0.5) / rows
    x = start_x[:, None, None] * (1 - t) + end_x[None, :, None] * t + half
    index = np.clip(np.rint(x), 0, columns - 1).astype(np.intp)
    score = soft[np.arange(rows)[None, None, :], index].mean(axis=2) - cost
    i, j = np.unravel_index(int(score.argmax()), score.shape)
    best = float(score[i, j])
    others = score.max(axis=0)[np.abs(end_x - end_x[j]) > 5.0 + width]
    clear = 1.0 if others.size == 0 else (best - float(others.max())) / max(abs(best), 1e-6)
    return float(start_x[i]), float(end_x[j]), min(1.0, max(0.0, clear))


def refine(
    level: Floats,
    start: tuple[float, float],
    window: tuple[float, float],
    prior_information: Floats,
    prior_known: Floats,
) -> Middle | None:
    """Fit the middle of the evidence by a straight line, robustly, together with what is known beforehand.

    level: from ``evidence``. start: x of the first guess in the middle of the first and of the last row. window: half
    width (px) looked at around the line there. prior_information: (2, 2), inverse covariance (px^-2) of the two ends'
    x before this picture; prior_known: (2,), that times their expected x. None with too little to see.
    """
    rows, columns = level.shape
    half = columns // 2
    t = (np.arange(rows) + 0.5) / rows
    design = np.stack((1 - t, t), axis=1)
    x = np.arange(columns, dtype=np.float64) - half
    reach = design @ np.array(window) + 0.5
    ends = np.array(start, dtype=np.float64)
    for _ in range(3):
        middle = design @ ends
        weight = level * np.clip(reach[:, None] - np.abs(x[None, :] - middle[:, None]), 0.0, 1.0)
        mass = weight.sum(axis=1)
        seen = mass > MIN_MASS
        if seen.sum() < max(4, 0.1 * rows):
            return None
        centre = (weight @ x) / np.maximum(mass, 1e-9)
        residual = np.where(seen, centre - middle, 0.0)
        typical = median(residual[seen])
        spread = max(0.35, 1.4826 * median(np.abs(residual[seen] - typical)))
        off = np.clip((residual - typical) / (3.0 * spread), -1.0, 1.0)
        # Neighbouring rows share their errors (lens, compression), so a row counts for less than its own spread says.
        trust = np.where(seen, np.minimum(mass, FULL_MASS) / FULL_MASS, 0.0) * (1 - off**2) ** 2 / (2.0 * spread) ** 2
        information = design.T @ (design * trust[:, None]) + prior_information
        covariance = inverse_2x2(information)
        ends = covariance @ (design.T @ (trust * centre) + prior_known)
    return Middle(float(ends[0]), float(ends[1]), float(seen.mean()), float(mass[seen].mean()), covariance)
