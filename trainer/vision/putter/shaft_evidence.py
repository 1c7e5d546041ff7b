"""Evidence of a putter along a ray: how far the picture differs there from the background without it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.numeric import median
from trainer.vision.putter.background_model import BackgroundModel
from trainer.vision.putter.shaft_geometry import Ray, strip

Floats = npt.NDArray[np.float64]

ROW_PX = 3.0  # rows of a strip, px along the shaft
NOISE_LEVEL = 5.0  # grey levels: what sensor noise leaves of a difference after averaging along a row
CAP_LEVEL = 40.0  # a glint must not outweigh the rest of the shaft
MIN_ROWS = 4
# Light that moves over the picture: every so many fine rows tell it, by the middle of their pixels' ratios to the background,
# eased by so many grey levels; less change than this is none, and more no light: something dark lies there.
LIT_ROWS, LIT_EASE, SAME_LIGHT, LIGHTS = 9, 10, 0.05, (0.5, 1.3)
_HALF_SUM = np.full((1, 3), 0.5, np.float32)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A strip of picture along a ray: from ``start``, over about ``length``, ``half`` to each side, in rows of row_px (px)."""

    ray: Ray
    start: float
    length: float
    half: int
    row_px: float = ROW_PX

    @property
    def rows(self) -> int:
        return max(MIN_ROWS, int(self.length / self.row_px))

    @property
    def span(self) -> float:
        """Length of the whole rows (px)."""
        return self.rows * self.row_px


def evidence(
    image: Any, background: BackgroundModel, where: Stretch, *, shade: bool = True, edges: bool = True
) -> Floats:
    """(rows, 2 half + 1) grey levels by which the picture differs from the background, noise taken off.

    image: the uint8 BGR inside the background's box, in which ``where`` is given, too. shade False: what is only a darker
    shade of the background's own colour, as a shadow on the ground is, does not count. edges False: nor does, where the
    background is but filled in, the edge of something that is alike on one of its sides.
    """
    count, half, row_px = where.rows, where.half, where.row_px
    size = (2 * half + 1, count)
    seen = strip(image, where.ray, where.start, count * 3, half, row_px / 3)
    clean = strip(background.picture, where.ray, where.start, count * 3, half, row_px / 3)
    light = _light(seen, clean) if shade else None
    if light is not None:
        clean = cv2.multiply(clean, np.repeat(light, 3 * clean.shape[1], axis=1).reshape(clean.shape), dtype=cv2.CV_8U)
    rows = cv2.resize(cv2.subtract(seen, clean, dtype=cv2.CV_32F), size, interpolation=cv2.INTER_AREA)  # mean of 3 by 1
    if not shade:
        ground = cv2.resize(clean, size, interpolation=cv2.INTER_AREA)
        darker = (rows * ground).sum(axis=2) / np.maximum((ground * ground).sum(axis=2), 1.0)
        rows = rows - np.minimum(darker, 0.0)[:, :, None] * ground
    level = cv2.transform(np.abs(rows, out=rows), _HALF_SUM)
    if shade:
        known = strip(background.seen, where.ray, where.start, count, half, row_px)
        filled = known < 128
        if filled.any():
            # Where the background is but filled in, the picture itself must show something thin: else a putter that has
            # left would leave its ghost behind, made of what was behind it.
            own = cv2.resize(seen, size, interpolation=cv2.INTER_AREA)
            thin = (
                _apart(own, own) if edges else np.minimum(_apart(own, own[:, :half]), _apart(own, own[:, half + 1 :]))
            )
            level = np.where(filled, np.minimum(level, thin), level)
    level -= NOISE_LEVEL
    np.maximum(level, 0.0, out=level)
    np.minimum(level, CAP_LEVEL, out=level)
    clear: Floats = level.astype(np.float64)
    return clear


def _apart(own: Any, side: Any) -> Any:
    """(rows, columns) grey levels by which a strip differs from the median of each row, or of one side of it."""
    middle = side.shape[1] // 2
    beside = np.partition(side, middle, axis=1)[:, middle : middle + 1].astype(np.float32)
    return cv2.transform(np.abs(own - beside), _HALF_SUM)


def _light(seen: Any, clean: Any) -> Any | None:
    """(fine rows, 1) light in which most of each row lies, of the background's; None where it is the same."""
    ease = 3 * LIT_EASE
    now, then = (part[LIT_ROWS // 2 :: LIT_ROWS].sum(axis=2, dtype=np.int32) + ease for part in (seen, clean))
    gain = np.sort(now / then, axis=1)[:, now.shape[1] // 2]
    if not gain.size or np.abs(gain - 1.0).max() < SAME_LIGHT:
        return None
    rows = np.arange(len(clean))
    lit = np.interp(rows, rows[LIT_ROWS // 2 :: LIT_ROWS], np.clip(gain, *LIGHTS))
    return lit.astype(np.float32)[:, None]


def likeness(image: Any, ray: Ray, start: float, length: float, side_px: int) -> float:
    """0..1: how much the picture along the ray looks like a thin thing, not like an edge of something.

    A shaft has the same background on both sides over most of its length; the edge of a trouser leg has not.
    """
    rows = strip(image, ray, start, max(8, int(length / 3)), side_px + 2, 3.0).astype(np.float32)
    left, right = rows[:, :3].mean(axis=1), rows[:, -3:].mean(axis=1)
    core = rows[:, side_px + 1 : side_px + 4].mean(axis=1)
    unlike = np.abs(left - right).sum(axis=1)
    contrast = np.minimum(np.abs(core - left).sum(axis=1), np.abs(core - right).sum(axis=1))
    return median(contrast / (contrast + unlike + 8.0))
