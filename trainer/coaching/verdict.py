"""A stroke's verdict as a value: it carries the limits that it was reached by."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Iterable, Mapping

from trainer.domain.measures import confident_value
from trainer.domain.record import Measure
from trainer.domain.verdict import FAULT_NAMES, Fault, FaultName
from trainer.settings.limits import Limits
from trainer.stroke.head_turn import NEAR_REST_S

TOO_CLOSE_S = NEAR_REST_S
BY_TIMING: tuple[FaultName, ...] = ("early_look", "short_hold")  # what such a look leaves open


@dataclass(frozen=True, slots=True)
class Verdict:
    """faults: in order of time; indeterminate: names of the faults that could not be judged; limits: judged by these;
    too_close: the look came so near to rest that it is neither early nor held.
    """

    faults: tuple[Fault, ...] = ()
    indeterminate: tuple[FaultName, ...] = ()
    limits: Limits = field(default_factory=Limits)
    too_close: bool = False


def unjudged(verdict: Verdict) -> tuple[FaultName, ...]:
    """The faults, of those that are judged from there at all, that are neither found nor ruled out."""
    near = BY_TIMING if verdict.too_close else ()
    found = {fault.name for fault in verdict.faults}
    return tuple(n for n in FAULT_NAMES if n not in found and (n in near or n in verdict.indeterminate))


def without_fault(verdict: Verdict) -> bool | None:
    """None: none was found, and not each could be judged."""
    return False if verdict.faults else None if unjudged(verdict) else True


def look_after_s(measures: Mapping[str, Measure]) -> float | None:
    """From settle to look as it was kept, below 0 where the look came first; None: not surely seen."""
    early = confident_value(measures.get("early_by_s"))
    return confident_value(measures.get("hold_s")) if early is None else -early


def near_rest(look_after_s: float) -> bool:
    """Whether a look so long after rest (below 0: before it) is too close to call."""
    return abs(look_after_s) <= TOO_CLOSE_S + 1e-9


def kept_too_close(look_after_s: float | None, faults: Iterable[str]) -> bool:
    """Of a stroke on record, by what is kept of it. An older verdict that did call the look stands."""
    return look_after_s is not None and near_rest(look_after_s) and not set(BY_TIMING) & set(faults)
