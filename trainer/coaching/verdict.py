"""A stroke's verdict as a value: it carries the limits that it was reached by."""

from __future__ import annotations

from dataclasses import dataclass, field

from trainer.domain.verdict import Fault, FaultName
from trainer.settings.limits import Limits


@dataclass(frozen=True, slots=True)
class Verdict:
    """faults: in order of time; indeterminate: names of the faults that could not be judged; limits: judged by these."""

    faults: tuple[Fault, ...] = ()
    indeterminate: tuple[FaultName, ...] = ()
    limits: Limits = field(default_factory=Limits)
