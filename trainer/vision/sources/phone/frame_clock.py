"""A steady camera's frames lie on a line in time: what jitters about it is how late they were stamped. Pure: times in, out."""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from trainer.domain.robust import MAD_TO_SD

KEPT = 90  # frames that the line goes through
LEAST = 20  # before it is told
FIRST_PERIODS = 8  # intervals of which the middle one begins it
MOST_JITTER_S = 0.005  # the frames' own spread (robust); a camera that jitters more has no period
MOST_SHARE = 0.15  # of a period, likewise
EARLY_PERIODS, LATE_PERIODS = 0.2, 0.6  # about its place on the line; frames are stamped late, hardly ever early
LATELY = 12  # the latest frames,
OFF_PERIODS = 0.18  # so far off on the average: it begins anew, for the camera took another rate (which gives 0.25)
PAUSE_S = 1.0  # after so long a gap it begins anew too
BIWEIGHT = 4.7 * MAD_TO_SD  # of Tukey's weights, times the median of the distances; textbook
ROUNDS = 3


class FrameClock:
    """``steady`` gives the time of each frame in turn, smoothed where the camera is steady, as it came where it is not.

    Frames left out leave gaps of whole periods. A frame that is far from the line keeps its own time.
    """

    def __init__(self) -> None:
        self._frames: deque[tuple[int, float]] = deque(maxlen=KEPT)  # (number of the period, time as it came)
        self._line: tuple[float, float] | None = None  # time of period 0, period
        self._lately: deque[float] = deque(maxlen=LATELY)  # how far off, in periods
        self._told_s = -math.inf

    def steady(self, time_s: float) -> float:
        """time_s: as it came, later than the one before."""
        told_s = self._found(time_s)
        if told_s <= self._told_s:  # never back: a frame far from the line may have been told late
            told_s = max(time_s, math.nextafter(self._told_s, math.inf))
        self._told_s = told_s
        return told_s

    def _found(self, time_s: float) -> float:
        if self._frames and time_s - self._frames[-1][1] > PAUSE_S:
            self._begin()
        if self._line is None:
            self._frames.append((0, time_s))
            if len(self._frames) > FIRST_PERIODS:
                self._number()
            return time_s
        zero_s, period_s = self._line
        at = (time_s - zero_s) / period_s
        number = max(math.floor(at + EARLY_PERIODS), self._frames[-1][0] + 1)
        self._lately.append(abs(at - round(at)))
        if len(self._lately) == LATELY and sum(self._lately) > LATELY * OFF_PERIODS:
            self._begin()
            return time_s
        if not -EARLY_PERIODS <= at - number <= LATE_PERIODS:
            return time_s
        self._frames.append((number, time_s))
        return self._on_line(number, time_s)

    def _begin(self) -> None:
        self._frames.clear()
        self._lately.clear()
        self._line = None

    def _number(self) -> None:
        """The first frames, counted by the middle one of their intervals."""
        times_s = np.array([time_s for _, time_s in self._frames])
        period_s = float(np.median(np.diff(times_s)))
        numbers = np.concatenate([[0], np.cumsum(np.maximum(1, np.round(np.diff(times_s) / period_s)))]).astype(int)
        self._frames = deque(zip(numbers.tolist(), times_s.tolist()), maxlen=KEPT)
        self._line = robust_line(numbers.astype(float), times_s)[:2]

    def _on_line(self, number: int, time_s: float) -> float:
        """The line anew, through all that is kept; where the frame lies on it, if they keep near it."""
        numbers, times_s = np.array(self._frames).T
        zero_s, period_s, off_s = robust_line(numbers, times_s)
        self._line = (zero_s, period_s)
        jitter_s = MAD_TO_SD * float(np.median(np.abs(off_s)))
        if len(self._frames) < LEAST or jitter_s > min(MOST_JITTER_S, MOST_SHARE * period_s):
            return time_s
        return zero_s + number * period_s


def robust_line(numbers: np.ndarray, times_s: np.ndarray) -> tuple[float, float, np.ndarray]:
    """(time of number 0, period, distances from it), by least squares with Tukey's weights."""
    middle, middle_s = numbers.mean(), times_s.mean()
    x, y = numbers - middle, times_s - middle_s
    weights = np.ones(len(x))
    for _ in range(ROUNDS):
        total = weights.sum()
        mean_x, mean_y = (weights @ x) / total, (weights @ y) / total
        slope = float(weights @ ((x - mean_x) * (y - mean_y)) / (weights @ (x - mean_x) ** 2))
        off_s = y - mean_y - slope * (x - mean_x)
        scale = max(BIWEIGHT * float(np.median(np.abs(off_s))), 1e-4)
        weights = np.square(np.clip(1.0 - np.square(off_s / scale), 0.0, None)) + 1e-9
    return float(middle_s + mean_y - slope * (mean_x + middle)), slope, off_s
