"""Two kinds of strokes side by side: rehearsal against ball, with feedback against without. Differences with intervals."""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from typing import Iterable, Sequence

from trainer.coaching.progress.proportions import Difference, Proportion, proportion_difference
from trainer.coaching.progress.variability import Variability, variability_of

MIN_STROKES = 3  # strokes of each kind
# A practice stroke of another size drives the real one off its speed: Front. Psychol. 11:513, 2020.
LENGTH_APART = 0.10


@dataclass(frozen=True, slots=True)
class Comparison:
    """One measure in two kinds of strokes. means: of the first and of the second; difference: the second less the first, so
    that what stands side by side adds up.
    """

    measure: str
    first: Variability
    second: Variability
    means: tuple[float, float]
    difference: Difference

    @property
    def changes(self) -> bool:
        """The interval leaves zero out, and the change is more than the two samples' own variability explains."""
        least = self.first.smallest_change_of(self.second.count)
        if abs(self.difference.value) <= 1e-9 * abs(self.first.typical):
            return False  # rounding
        return self.difference.plain and abs(self.difference.value) > least


def compare(measure: str, first: Iterable[float | None], second: Iterable[float | None]) -> Comparison | None:
    """None when fewer than three of either were seen. Interval: Welch's t at 95 %, unequal variances allowed."""
    a = [v for v in first if v is not None and math.isfinite(v)]
    b = [v for v in second if v is not None and math.isfinite(v)]
    if len(a) < MIN_STROKES or len(b) < MIN_STROKES:
        return None
    one, two = variability_of(a), variability_of(b)
    assert one is not None
    assert two is not None
    means = (statistics.fmean(a), statistics.fmean(b))
    return Comparison(measure, one, two, means, mean_difference(a, b))


def mean_difference(first: Sequence[float], second: Sequence[float]) -> Difference:
    """Mean of second less mean of first with Welch's 95 % interval (B. L. Welch 1947, Biometrika 34, 28-35)."""
    from scipy.special import stdtrit  # takes a while to import

    value = statistics.fmean(second) - statistics.fmean(first)
    va, vb = statistics.variance(first) / len(first), statistics.variance(second) / len(second)
    if va + vb == 0.0:
        return Difference(value, value, value)
    freedom = (va + vb) ** 2 / (va * va / (len(first) - 1) + vb * vb / (len(second) - 1))
    half = float(stdtrit(freedom, 0.975)) * math.sqrt(va + vb)
    return Difference(value, value - half, value + half)


def length_apart(rehearsal_cm: float | None, ball_cm: float | None) -> float | None:
    """By what proportion the ball stroke's length differs from the rehearsal's, signed; None when either was not seen."""
    if rehearsal_cm is None or ball_cm is None or rehearsal_cm <= 0:
        return None
    return ball_cm / rehearsal_cm - 1.0


def lengths_apart(strokes: Iterable[tuple[str, float | None]]) -> tuple[tuple[int, float], ...]:
    """(index of a ball stroke, by what proportion its length is off the rehearsal's before it, signed), where both were seen.

    strokes: (kind, back cm). A rehearsal whose length was not seen leaves the one before it standing.
    """
    found, rehearsal = [], None
    for i, (kind, back_cm) in enumerate(strokes):
        if kind == "rehearsal":
            rehearsal = back_cm if back_cm is not None else rehearsal
            continue
        apart = length_apart(rehearsal, back_cm)
        if apart is not None:
            found.append((i, apart))
        rehearsal = None
    return tuple(found)


@dataclass(frozen=True, slots=True)
class ByFeedback:
    """Proportion of strokes without fault, with feedback and without, and the difference (with minus without)."""

    with_feedback: Proportion | None
    without_feedback: Proportion | None
    difference: Difference | None


def by_feedback(with_feedback: Proportion | None, without_feedback: Proportion | None) -> ByFeedback:
    """Side by side; the difference only where there are both."""
    if with_feedback is None or without_feedback is None:
        return ByFeedback(with_feedback, without_feedback, None)
    return ByFeedback(with_feedback, without_feedback, proportion_difference(with_feedback, without_feedback))
