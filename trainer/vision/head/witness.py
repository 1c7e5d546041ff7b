"""A learned witness of the head's turn: a small net that compares the head now with the head at rest.

It was taught by tests/recipes/head_learn.py on rendered heads; what it says is weighed against the registration in
``hypotheses``. Plain numpy: four convolutions of stride 2 and two dense layers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.vision.head.look import CHANNELS, HEIGHT, WIDTH, head_contrast, head_look

Array = npt.NDArray[Any]

UNIT_DEG = 30.0  # of the net's answer
LOG_SPREAD = (-4.0, 2.0)  # bounds of its second answer, as taught
INSIDE = (
    slice(HEIGHT // 4, 3 * HEIGHT // 4),
    slice(WIDTH * 7 // 24, WIDTH * 17 // 24),
)  # of the look: head, no background
FILE = Path(__file__).parent / "turn_net.npz"


@dataclass(frozen=True, slots=True)
class Seen:
    """turn_deg: since the reference; spread_deg: mean error that the net expects of itself."""

    turn_deg: float
    spread_deg: float


@dataclass(frozen=True, slots=True)
class Rest:
    """How much there is to see on the head at rest.

    structure: local contrast, in standard deviations (a plain cap has little); contrast: spread of its colours, grey levels.
    """

    structure: float
    contrast: float


@dataclass(frozen=True, slots=True)
class TurnNet:
    """convolutions: (9 * channels, out) weights and (out,) bias each; dense: the same for the last two layers."""

    convolutions: tuple[tuple[Array, Array], ...]
    dense: tuple[tuple[Array, Array], ...]

    def after_first(self, sums: Array) -> Array:
        """(n, 2) answers from the first convolution's sums (n, h, w, out), both pictures' together, bias included."""
        x = np.maximum(sums, 0)
        for weight, bias in self.convolutions[1:]:
            x = np.maximum(_convolve(x, weight) + bias, 0)
        (hidden, bias), (out, out_bias) = self.dense
        return np.asarray(np.maximum(x.reshape(len(x), -1) @ hidden + bias, 0) @ out + out_bias)


@lru_cache(maxsize=1)
def load(file: Path = FILE) -> TurnNet:
    """The net that comes with the program."""
    with np.load(file) as stored:
        p = {k: stored[k].astype(np.float32) for k in stored.files}
    layers = sorted(k for k in p if k[0] == "w" and k[1:].isdigit())
    return TurnNet(
        tuple((p[k].reshape(-1, p[k].shape[-1]), p[f"b{k[1:]}"]) for k in layers),
        ((p["w_hidden"], p["b_hidden"]), (p["w_out"], p["b_out"])),
    )


class Witness:
    """Of one head. It is asked twice, the second time with both pictures turned over, so that it has no side it prefers."""

    def __init__(self, image: Array, centre: tuple[float, float], half_px: float, *, mirrored: bool) -> None:
        """The head at rest. centre, half_px: of the head in the picture as the camera gives it, px. mirrored: the target is to
        the picture's left."""
        self._net = load()
        self._half_px, self._mirrored = half_px, mirrored
        weight, _ = self._net.convolutions[0]
        both = weight.reshape(9, 2 * CHANNELS, -1)
        self._weight_rest = both[:, :CHANNELS].reshape(9 * CHANNELS, -1)
        self._weight_now = both[:, CHANNELS:].reshape(9 * CHANNELS, -1)
        looks = self._looks(image, centre)
        self._sums = _convolve(looks, self._weight_rest) + self._net.convolutions[0][1]
        self.rest = Rest(float(looks[0][INSIDE][..., -1].std()), head_contrast(image, centre, half_px))

    def see(self, image: Array, centre: tuple[float, float]) -> Seen:
        """centre: of the head now."""
        sums = self._sums + _convolve(self._looks(image, centre), self._weight_now)
        turn, log_spread = self._net.after_first(sums).T
        spread = np.exp(np.clip(log_spread.mean(), *LOG_SPREAD))
        return Seen(float(turn[0] - turn[1]) / 2 * UNIT_DEG, float(spread) * UNIT_DEG)

    def _looks(self, image: Array, centre: tuple[float, float]) -> Array:
        look = head_look(image, centre, self._half_px, mirrored=self._mirrored)
        return np.stack([look, look[:, ::-1]])


def _convolve(x: Array, weight: Array) -> Array:
    """3 x 3, stride 2, one pixel of zeros around. x: (n, h, w, channels); weight: (9 * channels, out)."""
    n, height, width, channels = x.shape
    h, w = (height + 1) // 2, (width + 1) // 2
    padded = np.zeros((n, 2 * h + 1, 2 * w + 1, channels), np.float32)
    padded[:, 1 : height + 1, 1 : width + 1] = x
    columns = np.empty((n, h, w, 9, channels), np.float32)
    for k in range(9):
        i, j = divmod(k, 3)
        columns[:, :, :, k] = padded[:, i : i + 2 * h : 2, j : j + 2 * w : 2]
    return np.asarray((columns.reshape(n * h * w, -1) @ weight).reshape(n, h, w, -1))
