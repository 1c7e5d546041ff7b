"""A ball's diameter as a small net reads it that has seen balls in every light, grey or coloured, beside a putter or alone.

A circle's edge is put at one share of the ball's brightness, but lit from a side or from above, a ball is dark where it ends. The
net was taught apart, by tests/recipes/ball_learn.py on ray-traced balls; what it reads is told in trainer/vision/STUDY.md.
"""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.convolve import convolve

Array = npt.NDArray[Any]

SIZE, REACH = 24, 1.2  # of the look: its side, px; how far it goes each way, diameters
SHARPEST_STEP = 1.2  # px of the picture for one of the look: from there on the picture is smoothed first
LEAST_CONTRAST = 8.0  # grey levels of the ball over its ground, in the colour that shows it best
BOUNDS = (-2.0, 2.5)  # of a look, as taught
# The first answer times this is the logarithm of true over given diameter; the second is that of the error expected of it.
UNIT = 0.1
ROUNDS = 2  # the second look has the first one's size
MOST_ERROR = 0.06  # expected, of the diameter: such a ball is none that it has seen
FILE = Path(__file__).parent / "diameter_net.npz"


@lru_cache(maxsize=1)
def load(file: Path = FILE) -> dict[str, Array]:
    """w0, w1, w2: (9 * channels, out) and b0 to b2 of the convolutions; w_hidden, b_hidden, w_out, b_out of the dense layers."""
    with np.load(file) as stored:
        arrays = {k: stored[k].astype(np.float32) for k in stored.files}
    return {k: v.reshape(-1, v.shape[-1]) if v.ndim == 4 else v for k, v in arrays.items()}


def learned_diameter_px(image: Array, x: float, y: float, diameter_px: float) -> float | None:
    """The diameter of the ball at (x, y) that was taken to be diameter_px wide; None: it does not look like a ball.

    image: (h, w, 3) uint8 BGR, the first pixel's centre at (0.5, 0.5).
    """
    error = math.inf
    for _ in range(ROUNDS):
        look = ball_look(image, x, y, diameter_px)
        if look is None:
            return None
        answers = _answers(np.array([look, look[:, ::-1]]))
        change, error = UNIT * float(answers[:, 0].mean()), UNIT * math.exp(float(answers[:, 1].mean()))
        diameter_px *= math.exp(change)
    return diameter_px if error <= MOST_ERROR else None


def ball_look(image: Array, x: float, y: float, diameter_px: float) -> Array | None:
    """(SIZE, SIZE, 3) float32: the ball in the middle, its ground at 0, itself about 1 away in the colour that shows it best."""
    reach = REACH * diameter_px
    step, around = 2 * reach / SIZE, int(reach) + 3
    x0, y0 = max(0, int(x) - around), max(0, int(y) - around)
    patch = image[y0 : y0 + 2 * around + 1, x0 : x0 + 2 * around + 1].astype(np.float32)
    if min(patch.shape[:2]) < diameter_px:
        return None
    if step > SHARPEST_STEP:
        patch = cv2.GaussianBlur(patch, (0, 0), 0.4 * math.sqrt(step**2 - 1))
    first = step / 2 - 0.5 - reach
    where = np.array([[step, 0, x - x0 + first], [0, step, y - y0 + first]], np.float32)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    look = cv2.warpAffine(patch, where, (SIZE, SIZE), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    ground = np.median(np.concatenate([look[0], look[:, 0], look[:, -1], look[-1]]), axis=0)
    core = slice(SIZE // 2 - 3, SIZE // 2 + 3)
    contrast = float(np.abs(look[core, core].mean(axis=(0, 1)) - ground).max())
    if contrast < LEAST_CONTRAST:
        return None
    return np.asarray(np.clip((look - ground) / contrast, *BOUNDS), np.float32)


def _answers(looks: Array) -> Array:
    """(n, 2)."""
    p, x = load(), looks
    for k in range(3):
        x = np.maximum(convolve(x, p[f"w{k}"]) + p[f"b{k}"], 0)
    hidden = np.maximum(x.reshape(len(x), -1) @ p["w_hidden"] + p["b_hidden"], 0)
    return np.asarray(hidden @ p["w_out"] + p["b_out"])
