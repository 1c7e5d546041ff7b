"""The student's best stroke so far: without fault, held, and the quietest. Pure."""

from __future__ import annotations

from typing import Iterable, TypeVar

from trainer.coaching.faults import MIN_CONFIDENCE, judge
from trainer.domain.record import StrokeRecord
from trainer.settings.limits import Limits

Key = TypeVar("Key")
# Measure -> the fault whose limit it is set against.
QUIET = {"hinge_change_deg": "hand_stall", "recoil_cm": "recoil", "sway_cm": "sway", "lift_cm": "lift"}


def noise_of(record: StrokeRecord, limits: Limits) -> float | None:
    """Mean share of their limits that the stroke's measures use up; None when one was not surely seen."""
    shares = []
    for name, fault in QUIET.items():
        measure = record.measures.get(name)
        if measure is None or measure.value is None or measure.confidence < MIN_CONFIDENCE:
            return None
        shares.append(abs(measure.value) / getattr(limits, fault).value)
    return float(sum(shares)) / len(shares)


def best_of(strokes: Iterable[tuple[Key, StrokeRecord]], limits: Limits) -> Key | None:
    """The key of the best face-on ball stroke; of two as good the one given later. None: none was held without fault."""
    best: tuple[float, Key] | None = None
    for key, record in strokes:
        hold = record.measures.get("hold_s")
        if record.view != "face-on" or record.kind != "ball" or hold is None or hold.value is None:
            continue
        if hold.value < limits.short_hold.value or hold.confidence < MIN_CONFIDENCE:
            continue
        noise = noise_of(record, limits)
        if noise is not None and (best is None or noise <= best[0]) and not judge(record, limits):
            best = (noise, key)
    return best[1] if best is not None else None
