"""The student's best stroke so far: without fault, held, and the quietest. Pure."""

from __future__ import annotations

from typing import Iterable, TypeVar

from trainer.coaching.faults import judge
from trainer.domain.measures import confident_value, limited_measure
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import FaultName
from trainer.settings.limits import Limits

Key = TypeVar("Key")
QUIET: tuple[FaultName, ...] = ("hand_stall", "recoil", "sway", "lift")  # what quiet is measured against: their limits


def noise_of(record: StrokeRecord, limits: Limits) -> float | None:
    """Mean share of their limits that the stroke's measures use up; None when one was not surely seen."""
    shares = []
    for fault in QUIET:
        value = confident_value(limited_measure(record.measures, fault))
        if value is None:
            return None
        shares.append(abs(value) / getattr(limits, fault).value)
    return float(sum(shares)) / len(shares)


def best_of(strokes: Iterable[tuple[Key, StrokeRecord]], limits: Limits) -> Key | None:
    """The key of the best face-on ball stroke; of two as good the one given later. None: none was held without fault."""
    best: tuple[float, Key] | None = None
    for key, record in strokes:
        hold_s = confident_value(record.measures.get("hold_s"))
        if record.view != "face-on" or record.kind != "ball" or hold_s is None or hold_s < limits.short_hold.value:
            continue
        noise = noise_of(record, limits)
        if noise is not None and (best is None or noise <= best[0]) and not judge(record, limits):
            best = (noise, key)
    return best[1] if best is not None else None
