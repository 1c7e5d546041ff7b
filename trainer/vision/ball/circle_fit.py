"""Sub-pixel fit of a bright disc (a ball) on a darker ground. The first pixel's centre is at (0.5, 0.5)."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import middle

RAYS = 36
STEP_PX = 0.25
# A ball lit from above is about 0.64 as bright at its upper and side edges as in the middle (Lambert's law under a
# broad light), so its edge, halfway from that to the ground, lies at about 0.32. On 18 rendered strokes 0.31 is right within
# 4 %, on 20 heads with a ball (all kinds of light, low sun, hard compression) within 3.5 (SD).
EDGE_LEVEL = 0.31
WIDER = 1.6  # an edge so many times as wide as most rays' is that of the putter beside it, or of a shaded side
MIN_CONTRAST = 22.0  # grey levels, disc over ground: about five times the noise of a webcam indoors (no source)

_ANGLES = np.arange(RAYS) * (2 * math.pi / RAYS)
_COS = np.cos(_ANGLES)[:, None]
_SIN = np.sin(_ANGLES)[:, None]
_TINY = 1e-6 * np.eye(3)
_DESIGN = np.concatenate((np.ones((RAYS, 1)), _COS, _SIN), axis=1)
# Light comes from above, so the lower part of a ball fades into its own shadow: those rays find no edge to be trusted.
_LIT = _SIN[:, 0] < math.sin(math.radians(25.0))


INSIDE = 0.9  # of the ball's diameter, below which a circle lies inside of it


@dataclass(frozen=True, slots=True)
class CircleFit:
    """centre, diameter, rms of the edge (px); share: of the rays that agree; contrast: over the ground, grey levels; soft: how
    wide its edge is (half of the contrast, where it falls as at the cut), of the diameter."""

    x: float
    y: float
    diameter_px: float
    share: float
    contrast: float
    rms_px: float
    soft: float = 0.0

    def moved(self, dx: float, dy: float) -> CircleFit:
        """The same fit with the patch's origin at (dx, dy)."""
        return replace(self, x=self.x + dx, y=self.y + dy)

    def edge_of(self, ball_px: float) -> float:
        """``soft`` where this is the edge of a ball so wide, 0 where it is of the light on it: a glint is soft in any picture."""
        return self.soft if self.diameter_px > INSIDE * ball_px else 0.0

    @property
    def quality(self) -> float:
        """0..1: how much it looks like a ball."""
        round_ = max(0.0, 1.0 - self.rms_px / (0.06 * self.diameter_px + 0.15) / 2)
        return float(min(1.0, self.share * 1.15) * round_ * min(1.0, self.contrast / (2 * MIN_CONTRAST)))


def whiteness(image: Any) -> npt.NDArray[np.uint8]:
    """(h, w) uint8: the smaller of green and red; bright for white and yellow balls alike, dark on grass and mats."""
    smaller: npt.NDArray[np.uint8] = cv2.min(cv2.extractChannel(image, 1), cv2.extractChannel(image, 2))
    return smaller


def luminance(image: Any) -> npt.NDArray[np.float32]:
    """(h, w) float32 grey: the sharpest of the channels of a compressed picture."""
    grey: npt.NDArray[np.float32] = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY).astype(np.float32)
    return grey


def fit_circle(
    patch: npt.NDArray[np.float32], x: float, y: float, diameter_px: float, rounds: int = 2
) -> CircleFit | None:
    """Fit a disc near (x, y) of about ``diameter_px``; None when no edge is found around it.

    patch: (h, w) float32 grey. Each ray from the centre is cut where it falls to EDGE_LEVEL between the ground's
    level and the disc's own; a circle is fitted to the cuts with weights that drop those that stand out (a putter
    head touching the ball).
    """
    fit: CircleFit | None = None
    for _ in range(rounds):
        fit = _one_round(patch, x, y, diameter_px)
        if fit is None:
            return None
        x, y, diameter_px = fit.x, fit.y, fit.diameter_px
    return fit


def _one_round(patch: npt.NDArray[np.float32], x: float, y: float, diameter_px: float) -> CircleFit | None:
    reach = 0.95 * diameter_px
    radii = np.arange(0.1 * diameter_px, reach, STEP_PX, dtype=np.float64)[None, :]
    height, width = patch.shape
    if not (reach <= x <= width - reach and reach <= y <= height - reach) and not (
        0.6 * diameter_px <= x <= width - 0.6 * diameter_px and 0.6 * diameter_px <= y <= height - 0.6 * diameter_px
    ):
        return None
    r = radii[0]
    inner_columns = int(np.searchsorted(r, 0.33 * diameter_px))
    outer_columns = int(np.searchsorted(r, 0.66 * diameter_px))
    if outer_columns >= len(r):  # so small that no step of a ray lies outside of it
        return None
    map_x = (radii * _COS + (x - 0.5)).astype(np.float32)
    map_y = (radii * _SIN + (y - 0.5)).astype(np.float32)
    rays = cv2.remap(patch, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = rays[:, :inner_columns].mean(axis=1)
    ground = rays[:, outer_columns:].min(axis=1)
    level = middle(ground)
    contrast = middle(inside) - level
    if contrast < MIN_CONTRAST:
        return None
    ground = np.maximum(ground, level - 0.3 * contrast)  # a shadow under the ball is not the ground's level
    edge = ground + EDGE_LEVEL * (inside - ground)
    start = int(np.searchsorted(r, 0.22 * diameter_px))
    below = rays[:, start:] < edge[:, None]
    found = below.any(axis=1) & (inside - ground > 0.45 * contrast) & _LIT
    if found.sum() < RAYS // 4:
        return None
    first = np.argmax(below, axis=1) + start
    before = np.maximum(first - 1, 0)
    index = np.arange(RAYS)
    high, low = rays[index, before], rays[index, first]
    drop = np.where(high - low > 1e-3, high - low, 1.0)
    cut = r[before] + (r[first] - r[before]) * np.minimum(np.maximum((high - edge) / drop, 0.0), 1.0)
    # To first order a circle seen from near its centre: cut = R + dx cos + dy sin.
    wide = (inside - ground) / drop
    weights = (found & (wide < WIDER * middle(wide[found]))).astype(np.float64)
    scale = max(0.06 * diameter_px, 0.35)
    solution = np.array([middle(cut[found]), 0.0, 0.0])
    for _ in range(4):
        residual = cut - _DESIGN @ solution
        bounded = np.minimum(np.maximum(residual / (2.5 * scale), -1.0), 1.0)
        w = weights * (1.0 - bounded**2) ** 2
        if w.sum() < RAYS / 5:
            return None
        solution = np.linalg.solve(_DESIGN.T @ (_DESIGN * w[:, None]) + _TINY, _DESIGN.T @ (w * cut))
    residual = cut - _DESIGN @ solution
    agree = found & (np.abs(residual) < 1.5 * scale)
    if not agree.any():
        return None
    radius, dx, dy = (float(value) for value in solution)
    return CircleFit(
        x + dx,
        y + dy,
        2 * radius,
        float(agree.sum() / _LIT.sum()),
        contrast,
        float(np.sqrt(np.mean(residual[agree] ** 2))),
        0.5 * middle(wide[agree]) * STEP_PX / (2 * radius),
    )
