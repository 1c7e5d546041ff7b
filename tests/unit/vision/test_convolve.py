"""The layer that the learned nets are made of."""

from __future__ import annotations

import numpy as np
import pytest

from trainer.vision.convolve import convolve


def test_convolution_is_the_textbook_one() -> None:
    rng = np.random.default_rng(1)
    x, w = rng.normal(size=(2, 7, 5, 3)).astype(np.float32), rng.normal(size=(3, 3, 3, 4)).astype(np.float32)
    found = convolve(x, w.reshape(-1, 4))
    padded = np.pad(x, ((0, 0), (1, 1), (1, 1), (0, 0)))
    for i, j in np.ndindex(4, 3):
        here = padded[:, 2 * i : 2 * i + 3, 2 * j : 2 * j + 3]
        assert found[:, i, j] == pytest.approx(np.einsum("nijc,ijco->no", here, w), abs=1e-4)
