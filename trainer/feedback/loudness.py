"""How loud a sound is to the ear: ITU-R BS.1770-4's K-weighting, ungated, for sounds of about a second.

The two filters are given there for 48 kHz; their analogue parameters, which hold at any rate, were worked out by others from
those coefficients (from memory; ``tests/unit/feedback/test_loudness.py`` holds them to the standard's own calibration).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

SHORTEST_S = 0.4  # the standard's block: a shorter sound is padded to it with silence
OFFSET_DB = -0.691
# (Hz, gain dB, Q) of the high shelf; (Hz, Q) of the high pass.
SHELF = (1681.974450955533, 3.999843853973347, 0.7071752369554196)
PASS = (38.13547087602444, 0.5003270373238773)

Floats = npt.NDArray[np.float64]


def loudness_lkfs(sound: npt.NDArray[np.floating], rate_hz: float) -> float:
    """sound: mono, -1 to 1. -inf for silence."""
    from scipy.signal import lfilter

    length = max(len(sound), round(SHORTEST_S * rate_hz))
    heard = np.zeros(length)
    heard[: len(sound)] = sound
    for numerator, denominator in (_shelf(rate_hz), _high_pass(rate_hz)):
        heard = lfilter(numerator, denominator, heard)
    power = float(np.mean(heard**2))
    return OFFSET_DB + 10 * math.log10(power) if power > 0 else -math.inf


def _shelf(rate_hz: float) -> tuple[Floats, Floats]:
    hz, gain_db, q = SHELF
    k = math.tan(math.pi * hz / rate_hz)
    high = 10 ** (gain_db / 20)
    middle = high**0.4996667741545416
    a0 = 1 + k / q + k * k
    b = np.array([high + middle * k / q + k * k, 2 * (k * k - high), high - middle * k / q + k * k])
    return b / a0, np.array([1.0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0])


def _high_pass(rate_hz: float) -> tuple[Floats, Floats]:
    hz, q = PASS
    k = math.tan(math.pi * hz / rate_hz)
    a0 = 1 + k / q + k * k
    return np.array([1.0, -2.0, 1.0]), np.array([1.0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0])
