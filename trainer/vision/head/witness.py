"""A learned witness of the head's turn: small nets, taught apart, that compare the head now with the head at rest.

They were taught by tests/recipes/head_learn.py on rendered heads; what they say is weighed against the registration in
``hypotheses``. Plain numpy: three convolutions of stride 2 and two dense layers each.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.vision.convolve import convolve
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
    """turn_deg: since the reference; spread_deg: mean error that the nets expect of themselves, and how far they differ;
    apart_deg: by how much the answer changes when both pictures are turned over, which it should not."""

    turn_deg: float
    spread_deg: float
    apart_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Rest:
    """How much there is to see on the head at rest.

    structure: local contrast, in standard deviations (a plain cap has little); contrast: spread of its colours, grey levels;
    brim: whether it is under a wide brim, which hides the face and may be round.
    """

    structure: float
    contrast: float
    brim: bool = False


@dataclass(frozen=True, slots=True)
class TurnNets:
    """All nets side by side. first: (9 * channels of both pictures, nets * out) and its bias; convolutions: (nets, 9 * channels,
    out) weights and (nets, 1, 1, 1, out) bias each; dense: (nets, before, after) and (nets, 1, after)."""

    many: int
    first: tuple[Array, Array]
    convolutions: tuple[tuple[Array, Array], ...]
    dense: tuple[tuple[Array, Array], ...]

    def after_first(self, sums: Array) -> Array:
        """(nets, n, 2) answers from the first convolution's sums (n, h, w, nets * out) of both pictures, bias included."""
        n, h, w, _ = sums.shape
        x = np.maximum(sums, 0).reshape(n, h, w, self.many, -1).transpose(3, 0, 1, 2, 4)
        for weight, bias in self.convolutions:
            x = convolve(x.reshape(-1, *x.shape[2:]), weight)
            x = x.reshape(self.many, n, *x.shape[1:])
            x += bias
            np.maximum(x, 0, out=x)
        (hidden, bias), (out, out_bias) = self.dense
        return np.asarray(np.maximum(x.reshape(self.many, n, -1) @ hidden + bias, 0) @ out + out_bias)


@lru_cache(maxsize=1)
def load(file: Path = FILE) -> TurnNets:
    """The nets that come with the program: every array of the file has one row a net."""
    with np.load(file) as stored:
        p = {k: stored[k].astype(np.float32) for k in stored.files}
    layers = sorted(k[1:] for k in p if k[0] == "w" and k[1:].isdigit())
    many, out = p["b0"].shape
    first = p["w0"].reshape(many, -1, out).transpose(1, 0, 2).reshape(-1, many * out)
    convolutions = tuple(
        (p[f"w{k}"].reshape(many, -1, p[f"w{k}"].shape[-1]), p[f"b{k}"][:, None, None, None]) for k in layers[1:]
    )
    dense = tuple((p[f"w_{k}"], p[f"b_{k}"][:, None]) for k in ("hidden", "out"))
    return TurnNets(many, (first, p["b0"].ravel()), convolutions, dense)


class Witness:
    """Of one head. It is asked twice, the second time with both pictures turned over, so that it has no side it prefers."""

    def __init__(self, image: Array, centre: tuple[float, float], half_px: float, *, mirrored: bool) -> None:
        """The head at rest. centre, half_px: of the head in the picture as the camera gives it, px. mirrored: the target is to
        the picture's left."""
        self._nets = load()
        self._half_px, self._mirrored = half_px, mirrored
        weight, bias = self._nets.first
        both = weight.reshape(9, 2 * CHANNELS, -1)
        self._weight_rest = both[:, :CHANNELS].reshape(9 * CHANNELS, -1)
        self._weight_now = both[:, CHANNELS:].reshape(9 * CHANNELS, -1)
        looks = self._looks(image, centre)
        self._sums = convolve(looks, self._weight_rest) + bias
        self.rest = Rest(float(looks[0][INSIDE][..., -1].std()), head_contrast(image, centre, half_px))

    def see(self, image: Array, centre: tuple[float, float]) -> Seen:
        """centre: of the head now."""
        sums = self._sums + convolve(self._looks(image, centre), self._weight_now)
        answers = self._nets.after_first(sums)
        turn = (answers[:, 0, 0] - answers[:, 1, 0]) / 2 * UNIT_DEG
        spread = np.exp(np.clip(answers[..., 1].mean(1), *LOG_SPREAD)).mean() * UNIT_DEG
        apart = np.abs(answers[..., 0].mean(1)).mean() * UNIT_DEG
        return Seen(float(turn.mean()), float(np.hypot(spread, turn.std())), float(apart))

    def _looks(self, image: Array, centre: tuple[float, float]) -> Array:
        look = head_look(image, centre, self._half_px, mirrored=self._mirrored)
        return np.array([look, look[:, ::-1]])
