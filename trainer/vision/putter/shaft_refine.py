"""The shaft measured to a fraction of a pixel: a straight line through the evidence, robustly, with what was known before."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from trainer.domain.robust import MAD_TO_SD
from trainer.vision.numeric import inverse_2x2, row_middles
from trainer.vision.numeric import middle as median
from trainer.vision.putter.shaft_prior import ShaftPrior

Floats = npt.NDArray[np.float64]

# No study of these is kept.
MIN_MASS = 6.0  # evidence in a row (grey level px) below which it says nothing
FULL_MASS = 120.0  # and with which it counts fully
MIN_ROWS, MIN_ROWS_SHARE = 4, 0.1  # that must say something: so many, and such a share of all
ROUNDS = 3  # of looking about the line found so far
LEAST_SPREAD_PX = 0.35  # of the rows about the line (SD): a line is not known better because a few rows agree
CUT = 3.0  # times the spread: a row farther off counts nothing (Tukey's weights)
SHARED = 2.0  # times its spread that a row is taken to be off: neighbours share their errors (lens, compression)


@dataclass(frozen=True, slots=True)
class LineFit:
    """x where the rows begin and where they end (px), their covariance; share of rows seen; mean mass of these."""

    x0: float
    x1: float
    share: float
    mass: float
    covariance: Floats


@lru_cache(maxsize=256)
def _design(rows: int) -> Floats:
    """(rows, 2) shares of both ends in the x of each row; not to be written to."""
    t = row_middles(rows)
    design = np.stack((1 - t, t), axis=1)
    design.setflags(write=False)
    return design


def refine(
    level: Floats,
    start: tuple[float, float],
    window: tuple[float, float],
    prior: ShaftPrior,
) -> LineFit | None:
    """Fit the middle of the evidence by a straight line, robustly, together with what is known beforehand.

    level: of ``evidence``. start: x to begin with in the middle of the first and of the last row. window: half width (px)
    looked at around the line there. prior: of the two ends' x. None with too little to see.
    """
    rows, columns = level.shape
    half = columns // 2
    design = _design(rows)
    x = np.arange(-half, columns - half, dtype=np.float64)
    reach = (design @ np.array(window) + 0.5)[:, None]
    ends = np.array(start, dtype=np.float64)
    for _ in range(ROUNDS):
        middle = design @ ends
        weight = x[None, :] - middle[:, None]
        np.abs(weight, out=weight)
        np.subtract(reach, weight, out=weight)
        np.maximum(weight, 0.0, out=weight)
        np.minimum(weight, 1.0, out=weight)
        weight *= level
        mass = weight.sum(axis=1)
        seen = mass > MIN_MASS
        if np.count_nonzero(seen) < max(MIN_ROWS, MIN_ROWS_SHARE * rows):
            return None
        centre = (weight @ x) / np.maximum(mass, 1e-9)
        residual = np.where(seen, centre - middle, 0.0)
        shown = residual[seen]
        typical = median(shown)
        spread = max(LEAST_SPREAD_PX, MAD_TO_SD * median(np.abs(shown - typical)))
        off = np.minimum(np.maximum((residual - typical) / (CUT * spread), -1.0), 1.0)
        trust = (
            np.where(seen, np.minimum(mass, FULL_MASS) / FULL_MASS, 0.0) * (1 - off**2) ** 2 / (SHARED * spread) ** 2
        )
        information = design.T @ (design * trust[:, None]) + prior.information
        covariance = inverse_2x2(information)
        ends = covariance @ (design.T @ (trust * centre) + prior.known)
    return LineFit(float(ends[0]), float(ends[1]), float(seen.mean()), float(mass[seen].mean()), covariance)
