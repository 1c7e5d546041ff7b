"""Charts that tell a change that is real from the usual ups and downs: EWMA and CUSUM of a student's own strokes.

The usual level and spread come from the student's first strokes. With these known exactly, a false alarm comes
after 560 strokes on average (EWMA, 0.2 and 3) or 168 (CUSUM, 0.5 and 4); estimated from few strokes it comes sooner.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from typing import Sequence, TypeVar

import numpy as np
import numpy.typing as npt

from trainer.coaching.progress.variability import step_sd

LAMBDA, EWMA_LIMIT = 0.2, 3.0
CUSUM_SLACK, CUSUM_LIMIT = 0.5, 4.0
USUAL_STROKES = 20  # the first so many make the usual level (common practice: 20 to 25)

T = TypeVar("T", float, npt.NDArray[np.float64])


def ewma_step(before: T, value: T, weight: float = LAMBDA) -> T:
    """z = lambda x + (1 - lambda) z'. Numbers or arrays."""
    return weight * value + (1.0 - weight) * before


def ewma_half_width(number: int | None, weight: float = LAMBDA, limit: float = EWMA_LIMIT) -> float:
    """Half width of the band in standard deviations at value ``number`` (from 1); None: the steady one."""
    begun = 1.0 if number is None else 1.0 - (1.0 - weight) ** (2 * number)
    return limit * math.sqrt(weight / (2.0 - weight) * begun)


def cusum_up(before: float, z: float, slack: float = CUSUM_SLACK) -> float:
    """S+ = max(0, S+ + z - k)."""
    return max(0.0, before + z - slack)


def cusum_down(before: float, z: float, slack: float = CUSUM_SLACK) -> float:
    """S- = max(0, S- - z - k)."""
    return max(0.0, before - z - slack)


@dataclass(frozen=True, slots=True)
class Usual:
    """The level and spread (standard deviation) that a change is measured against."""

    level: float
    sd: float
    count: int


def usual_of(values: Sequence[float], count: int = USUAL_STROKES) -> Usual | None:
    """From the first ``count`` values; None when there are fewer, or they do not vary."""
    first = list(values[:count])
    if len(first) < count:
        return None
    sd = step_sd(first)
    return Usual(statistics.median(first), sd, count) if sd > 0 else None


@dataclass(frozen=True, slots=True)
class Change:
    """at: index of the value where the chart left its band; up: to larger values."""

    at: int
    up: bool


@dataclass(frozen=True, slots=True)
class Chart:
    """points: the chart's line, one a value; low, high: its band there; changes: where it left the band anew."""

    points: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    changes: tuple[Change, ...]


def ewma(values: Sequence[float], usual: Usual, weight: float = LAMBDA, limit: float = EWMA_LIMIT) -> Chart:
    """Exponentially weighted moving average, in the measure's own unit."""
    z, points, low, high, changes, outside = usual.level, [], [], [], [], 0
    for number, value in enumerate(values, 1):
        z = ewma_step(z, value, weight)
        half = ewma_half_width(number, weight, limit) * usual.sd
        side = 1 if z > usual.level + half else -1 if z < usual.level - half else 0
        if side and side != outside:
            changes.append(Change(number - 1, side > 0))
        outside = side
        points.append(z)
        low.append(usual.level - half)
        high.append(usual.level + half)
    return Chart(tuple(points), tuple(low), tuple(high), tuple(changes))


@dataclass(frozen=True, slots=True)
class Sums:
    """up, down: both sums in standard deviations, one a value; changes: where one passed the limit."""

    up: tuple[float, ...]
    down: tuple[float, ...]
    changes: tuple[Change, ...]
    began: tuple[int, ...]


def cusum(values: Sequence[float], usual: Usual, slack: float = CUSUM_SLACK, limit: float = CUSUM_LIMIT) -> Sums:
    """Two-sided cumulative sums; each starts anew after it gave a change, which ``began`` at that index."""
    ups, downs, changes, began = [], [], [], []
    up = down = 0.0
    from_up = from_down = 0
    for i, value in enumerate(values):
        z = (value - usual.level) / usual.sd
        from_up, from_down = (i if up == 0 else from_up), (i if down == 0 else from_down)
        up, down = cusum_up(up, z, slack), cusum_down(down, z, slack)
        ups.append(up)
        downs.append(down)
        if up > limit:
            changes.append(Change(i, True))
            began.append(from_up)
            up = 0.0
        if down > limit:
            changes.append(Change(i, False))
            began.append(from_down)
            down = 0.0
    return Sums(tuple(ups), tuple(downs), tuple(changes), tuple(began))
