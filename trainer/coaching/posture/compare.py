"""Two addresses side by side: what changed, by how much, and whether the method can tell that much at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping

from trainer.coaching.posture.ranges import DEFAULTS, Ranges
from trainer.domain.measures import confident_value
from trainer.domain.observation import View
from trainer.domain.record import Measure

# Smallest change told from chance with 95 % certainty: 1.96 * sqrt(2) standard errors of one measure (the minimal detectable
# change of reliability studies; formula from memory). The standard errors are those of ``Range.doubt``.
SMALLEST_CHANGE = 1.96 * 2**0.5


@dataclass(frozen=True, slots=True)
class Change:
    """One measure before and after. smallest: the least change that the method can tell; real: whether this one is larger.

    nearer: whether it moved toward its range (None: inside both times, or not told). inside_before, inside_after: whether
    it lay in its range, None where it was not seen.
    """

    name: str
    unit: str
    before: float | None
    after: float | None
    change: float | None
    smallest: float
    real: bool
    nearer: bool | None
    inside_before: bool | None
    inside_after: bool | None


def changes(
    before: Mapping[str, Measure], after: Mapping[str, Measure], view: View, ranges: Ranges = DEFAULTS
) -> list[Change]:
    """Every measure with a range in this view. One that was not seen, or not surely, both times has no change."""
    out = []
    for name, bounds in ranges[view].items():
        first, second = confident_value(before.get(name)), confident_value(after.get(name))
        change = None if first is None or second is None else second - first
        smallest = SMALLEST_CHANGE * bounds.doubt
        real = change is not None and abs(change) > smallest
        far = [None if v is None else max(bounds.low - v, v - bounds.high, 0.0) for v in (first, second)]
        inside = [None if away is None else away == 0.0 for away in far]
        nearer = None
        if real and far[0] is not None and far[1] is not None and inside != [True, True]:
            nearer = far[1] < far[0]
        out.append(Change(name, bounds.unit, first, second, change, smallest, real, nearer, *inside))
    return out
