"""Frames that were stamped when they came and not when they were taken: now and then one is late, and those behind it in a bunch.

A frame may not come sooner after another than their beats allow: where it does, the other was late. Where most seem late, by
amounts that say nothing of the next one's, the stamps jitter to both sides: a line through those around is their time.
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
AROUND = 6  # frames to each side of one, whose stamps tell when it was taken where they jitter
ALIKE = 0.3  # correlation of neighbours' lateness: less, and they jitter


def lateness_s(time_s: Floats, numbers: Numbers) -> float:
    """By how much (rms) frames are stamped late."""
    found = _off_beat_s(time_s, numbers)
    return float(np.sqrt(np.mean(_late_s(*found)[: 1 - AHEAD] ** 2))) if found is not None else 0.0


def in_time(time_s: Floats, numbers: Numbers) -> Floats:
    """When each was taken, as far as those around it tell; strictly increasing, as ``time_s`` is. Even times are given back."""
    found = _off_beat_s(time_s, numbers)
    late = _late_s(*found) if found is not None else np.zeros(0)
    if found is None or not late.any():
        return time_s
    if np.median(late) > 0.0:
        aside = _off_line(found[0])
        late = aside if _jitters(aside) else late
    apart = LEAST_APART_S * np.arange(len(time_s))
    return np.asarray(np.maximum.accumulate(time_s - late - apart) + apart)


def _off_beat_s(time_s: Floats, numbers: Numbers) -> tuple[Floats, float] | None:
    """Each time less its number of beats, and the beat; None: they come in no bunches."""
    if len(time_s) < 2 * AHEAD:
        return None
    steps = np.diff(time_s) / np.maximum(np.diff(numbers), 1)
    beat_s = float(np.median(steps[steps > 0.5 * steps.mean()]))
    if steps.min() > BUNCH_BEATS * beat_s:
        return None
    return np.asarray(time_s - beat_s * (numbers - numbers[0])), beat_s


def _late_s(off_s: Floats, beat_s: float) -> Floats:
    """By how much each comes later than the soonest of itself and those behind it allows, 0 where by little."""
    padded = np.concatenate([off_s, np.full(AHEAD - 1, np.inf)])
    late = off_s - np.min([padded[k : len(off_s) + k] for k in range(AHEAD)], axis=0)
    return np.where(late > LATE_BEATS * beat_s, late, 0.0)


def _off_line(off_s: Floats) -> Floats:
    """Each less the straight line through it and those around it: so the ends and a beat a little off bend nothing."""
    from scipy.signal import savgol_filter  # late, as in ``filters``

    width = 2 * AROUND + 1 if len(off_s) > 2 * AROUND else 2 * AROUND - 1
    return np.asarray(off_s - savgol_filter(off_s, width, 1))


def _jitters(aside_s: Floats) -> bool:
    """Whether none of it tells how late the next will be: a frame that waits holds up those behind it."""
    return float((aside_s[1:] * aside_s[:-1]).sum()) < ALIKE * float((aside_s**2).sum())
