"""Shares of strokes with intervals: never a bare percentage."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from trainer.texts import tr

Z95 = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True, slots=True)
class Proportion:
    """good of total (at least one) with its 95 % interval."""

    good: int
    total: int
    low: float
    high: float

    @property
    def value(self) -> float:
        return self.good / self.total

    def words(self) -> str:
        """In whole percent, as people read it."""
        return tr(
            "{value:.0f} % ({low:.0f} to {high:.0f} %)",
            value=100 * self.value,
            low=100 * self.low,
            high=100 * self.high,
        )


def proportion_of(good: int, total: int) -> Proportion | None:
    """A share with its interval; None of no strokes."""
    if total == 0:
        return None
    return Proportion(good, total, *wilson(good, total))


def wilson(good: int, total: int, z: float = Z95) -> tuple[float, float]:
    """Score interval of a proportion: E. B. Wilson 1927, JASA 22, 209-212. ValueError: not good of total."""
    if total < 1 or not 0 <= good <= total:
        raise ValueError(tr("{good} of {total} is no share", good=good, total=total))
    p, n, zz = good / total, total, z * z
    middle = (p + zz / (2 * n)) / (1 + zz / n)
    half = z * math.sqrt(p * (1 - p) / n + zz / (4 * n * n)) / (1 + zz / n)
    return (0.0 if good == 0 else max(0.0, middle - half)), (1.0 if good == total else min(1.0, middle + half))


@dataclass(frozen=True, slots=True)
class Difference:
    """value with its 95 % interval."""

    value: float
    low: float
    high: float

    @property
    def plain(self) -> bool:
        """Zero lies outside the interval."""
        return self.low > 0 or self.high < 0


def proportion_difference(first: Proportion, second: Proportion) -> Difference:
    """first - second, with R. G. Newcombe's interval from two score intervals (1998, Stat. Med. 17, 873-890, method 10;
    from memory, checked by simulation in the tests)."""
    p, q = first.value, second.value
    low = (p - q) - math.hypot(p - first.low, second.high - q)
    high = (p - q) + math.hypot(first.high - p, q - second.low)
    return Difference(p - q, max(-1.0, low), min(1.0, high))
