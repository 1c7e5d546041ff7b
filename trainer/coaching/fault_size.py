"""How far a stroke goes the way of a fault: the one side that limits are set, tried out and drawn on."""

from __future__ import annotations

from trainer.coaching.faults import BOTH_WAYS


def fault_size(fault: str, value: float) -> float:
    """value: of the measure that the fault's limit is set on. A head that turns away does not look, and one that sinks does
    not rise, however far.
    """
    return abs(value) if fault in BOTH_WAYS else max(value, 0.0)
