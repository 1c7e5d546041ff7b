"""A measure's typical value and variability, not thrown off by one bad stroke, and the least change that is real."""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from typing import Iterable, Sequence

from trainer.domain.robust import MAD_TO_SD
from trainer.texts import tr

MDC_FACTOR = 1.96 * math.sqrt(2.0)  # 2.772: minimal detectable change of two single values at 95 % (from memory)
# Small samples make the median absolute deviation too small. Known factors (Croux and Rousseeuw 1992, from memory);
# the tests check them by simulation.
_SMALL = {2: 1.197, 3: 1.490, 4: 1.360, 5: 1.217, 6: 1.189, 7: 1.138, 8: 1.127, 9: 1.101}


@dataclass(frozen=True, slots=True)
class Variability:
    """typical: median; sd: robust standard deviation of single strokes; same unit. count: strokes it rests on."""

    typical: float
    sd: float
    count: int

    @property
    def smallest_change(self) -> float:
        """Between two single strokes: a smaller difference is within the student's own variability."""
        return MDC_FACTOR * self.sd

    def smallest_change_of(self, count: int) -> float:
        """Between the typical values of this and of ``count`` other strokes."""
        return 1.96 * self.sd * math.sqrt(1.0 / self.count + 1.0 / count)


def variability_of(values: Iterable[float | None]) -> Variability | None:
    """Of the values that were seen; None of fewer than two."""
    seen = [v for v in values if v is not None and math.isfinite(v)]
    if len(seen) < 2:
        return None
    middle = statistics.median(seen)
    deviation = statistics.median(abs(v - middle) for v in seen)
    return Variability(middle, MAD_TO_SD * small_sample(len(seen)) * deviation, len(seen))


def small_sample(count: int) -> float:
    """What the median absolute deviation of ``count`` values is to be multiplied with to be right on average."""
    return _SMALL.get(count, count / (count - 0.8))


def step_sd(values: Sequence[float]) -> float:
    """Standard deviation of single values from their successive differences (mean / 1.128): a slow drift adds nothing.

    The moving-range estimate of individuals charts; 1.128 = 2 / sqrt(pi) is the mean range of two normal values.
    """
    if len(values) < 2:
        raise ValueError(tr("two values at least"))
    ranges = [abs(values[i + 1] - values[i]) for i in range(len(values) - 1)]
    return statistics.fmean(ranges) * math.sqrt(math.pi) / 2
