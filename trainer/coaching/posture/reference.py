"""A reference posture as ranges: around each number by the least change that the method can tell."""

from __future__ import annotations

from typing import Mapping

from trainer.coaching.posture.compare import SMALLEST_CHANGE
from trainer.coaching.posture.ranges import DEFAULTS
from trainer.domain.measures import confident_value
from trainer.domain.observation import View
from trainer.domain.record import Measure
from trainer.settings.posture import table_name


def ranges_around(measures: Mapping[str, Measure], view: View) -> dict[str, float]:
    """Dotted settings key -> value for every measure that was seen surely enough; within what a settings file may say."""
    out: dict[str, float] = {}
    for name, bounds in DEFAULTS[view].items():
        value = confident_value(measures.get(name))
        if value is None:
            continue
        room = SMALLEST_CHANGE * bounds.doubt
        digits = 2 if bounds.unit == "" else 1
        low, high = max(bounds.lowest, value - room), min(bounds.highest, value + room)
        out[f"posture.{table_name(view)}.{name}.low"] = round(low, digits)
        out[f"posture.{table_name(view)}.{name}.high"] = round(high, digits)
    return out
