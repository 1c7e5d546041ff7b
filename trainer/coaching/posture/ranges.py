"""The measures of an address against their ranges (``trainer.settings.posture``, per student), and the verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from trainer.domain.measures import MIN_CONFIDENCE, confident_value
from trainer.domain.observation import View
from trainer.domain.record import Measure
from trainer.settings.posture import DEFAULTS, Range, Ranges

__all__ = ["DEFAULTS", "Check", "Range", "Ranges", "check"]


@dataclass(frozen=True, slots=True)
class Check:
    """One measure against its range. inside: by the number alone, None when there is no number.

    fault: outside by more than the measure may be off, and sure enough to say so.
    """

    name: str
    measure: Measure
    low: float
    high: float
    inside: bool | None
    fault: bool

    def as_json(self) -> dict[str, Any]:
        """value, unit ("1": without), confidence, low, high, inside."""
        return {
            "value": confident_value(self.measure),
            "unit": self.measure.unit or "1",
            "confidence": float(self.measure.confidence),
            "low": self.low,
            "high": self.high,
            "inside": self.inside,
        }


def check(measures: Mapping[str, Measure], view: View, ranges: Ranges = DEFAULTS) -> list[Check]:
    """Every measure that has a range in this view, in the order of the ranges."""
    out = []
    for name, bounds in ranges[view].items():
        measure = measures.get(name)
        if measure is None:
            continue
        value = measure.value
        inside = None if value is None else bounds.low <= value <= bounds.high
        far = value is not None and not bounds.low - bounds.doubt <= value <= bounds.high + bounds.doubt
        out.append(Check(name, measure, bounds.low, bounds.high, inside, far and measure.confidence >= MIN_CONFIDENCE))
    return out
