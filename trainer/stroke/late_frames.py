"""Frames that were stamped when they came and not when they were taken: now and then one is late, and those behind it in a bunch.

A frame may not come sooner after another than their beats allow: where it does, the other was late.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Floats

Numbers = npt.NDArray[Any]  # of frames, which count those that were lost where that is known

AHEAD = 6  # frames, among which one that came late is found out by those behind it
LATE_BEATS = 0.3  # by less a time is let be: cameras are no better than that
BUNCH_BEATS = 0.4  # nearer than this, and they come in a bunch: two of a rate that was taken for half of it do not
LEAST_APART_S = 0.001


def lateness_s(time_s: Floats, numbers: Numbers) -> float:
    """By how much (rms) frames are stamped late."""
    late = _late_s(time_s, numbers)
    return float(np.sqrt(np.mean(late[: 1 - AHEAD] ** 2))) if late is not None else 0.0


def in_time(time_s: Floats, numbers: Numbers) -> Floats:
    """When each was taken, as far as those behind it tell; strictly increasing, as ``time_s`` is. Even times are given back."""
    late = _late_s(time_s, numbers)
    if late is None or not late.any():
        return time_s
    apart = LEAST_APART_S * np.arange(len(time_s))
    return np.asarray(np.maximum.accumulate(time_s - late - apart) + apart)


def _late_s(time_s: Floats, numbers: Numbers) -> Floats | None:
    """By how much each comes later than the soonest of itself and those behind it allows, 0 where by little; None: they come in
    no bunches.
    """
    if len(time_s) < 2 * AHEAD:
        return None
    steps = np.diff(time_s) / np.maximum(np.diff(numbers), 1)
    beat_s = float(np.median(steps[steps > 0.5 * steps.mean()]))
    if steps.min() > BUNCH_BEATS * beat_s:
        return None
    off = time_s - beat_s * (numbers - numbers[0])
    padded = np.concatenate([off, np.full(AHEAD - 1, np.inf)])
    late = off - np.min([padded[k : len(off) + k] for k in range(AHEAD)], axis=0)
    return np.where(late > LATE_BEATS * beat_s, late, 0.0)
