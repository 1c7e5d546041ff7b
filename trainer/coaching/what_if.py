"""Limits tried out: what strokes on record would have been called by limits that are being moved. Pure.

The verdicts are `faults.judge`'s own; only what a moved limit touches is worked out again, so that a slider may be followed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Sequence

from trainer.coaching.fault_size import fault_size
from trainer.coaching.faults import RULES, Basis, Look, indeterminate_of, look_too_close
from trainer.coaching.verdict import BY_TIMING, Verdict
from trainer.domain.measures import confident_value, limited_measure
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import FAULT_NAMES, Fault
from trainer.settings.limits import Limit, Limits

# Faults whose verdict leans on the look, and so on the head-turn limit.
BY_LOOK = ("early_look", "short_hold", "posture_change")


@dataclass(frozen=True)
class WhatIfStroke:
    """One stroke on record. then: names of its faults by the limits of then, which stay its own; with_feedback: whether the
    player was told how it was, None where that is not known; name: what it is called; which: as `review --stroke` takes it.
    """

    stroke_id: int
    kept_at: datetime
    record: StrokeRecord
    then: tuple[str, ...]
    with_feedback: bool | None = None
    name: str = ""
    which: str = ""


@dataclass(frozen=True, slots=True)
class WhatIfRow:
    """One limit tried. called: places of the strokes that it would call; judged: strokes that it could judge; too_close:
    strokes beside those, whose look came too near to rest to call.
    """

    fault: str
    called: tuple[int, ...]
    judged: int
    too_close: int = 0


class WhatIf:
    """Strokes and the limits they are judged by at the moment. Strokes go by their place in ``records``."""

    def __init__(self, records: Sequence[StrokeRecord], limits: Limits) -> None:
        self.records = tuple(records)
        self._basis = [Basis(record) for record in self.records]
        self._limits: Limits | None = None
        self._looks: list[Look] = []
        self._found: dict[str, list[Fault | None]] = {}
        self._axes: dict[str, tuple[float | None, ...]] = {}
        self.version: dict[str, int] = dict.fromkeys(FAULT_NAMES, 0)  # grows when what a limit calls is worked out anew
        self.judge(limits)

    @property
    def limits(self) -> Limits:
        assert self._limits is not None
        return self._limits

    def judge(self, limits: Limits) -> None:
        """By these limits from now on."""
        before = self._limits
        changed: set[str] = {
            name for name in FAULT_NAMES if before is None or getattr(before, name) != getattr(limits, name)
        }
        if "early_look" in changed:
            self._looks = [basis.look(limits) for basis in self._basis]
            self._axes.pop("short_hold", None)
            changed |= set(BY_LOOK)
        for name in changed:
            rule = RULES[name]
            self.version[name] += 1
            self._found[name] = [rule(b, limits, s) for b, s in zip(self._basis, self._looks, strict=True)]
        self._limits = limits

    def faults(self, i: int) -> tuple[Fault, ...]:
        """Of one stroke, as ``faults.judge`` gives them."""
        found = [fault for name in FAULT_NAMES if (fault := self._found[name][i]) is not None]
        return tuple(sorted(found, key=lambda fault: fault.at_s))

    def verdict(self, i: int) -> Verdict:
        """On one stroke, as ``faults.verdict`` gives it."""
        found = self.faults(i)
        unsure = indeterminate_of(self._basis[i], self.limits, self._looks[i], found)
        return Verdict(found, unsure, self.limits, self.too_close(i))

    def too_close(self, i: int) -> bool:
        """Whether one stroke's look came too near to rest to call."""
        return look_too_close(self._basis[i], self.limits, self._looks[i])

    def called(self) -> tuple[int, ...]:
        """Places of the strokes with any fault."""
        return tuple(i for i in range(len(self.records)) if any(self._found[name][i] for name in FAULT_NAMES))

    def row(self, name: str) -> WhatIfRow:
        """How one limit fares."""
        places = tuple(i for i, fault in enumerate(self._found[name]) if fault is not None)
        seen = [i for i, value in enumerate(self.axis(name)) if value is not None]
        near = sum(self.too_close(i) for i in seen) if name in BY_TIMING else 0
        return WhatIfRow(name, places, len(seen) - near, near)

    def axis(self, name: str) -> tuple[float | None, ...]:
        """Every stroke's value on the limit's own axis, for drawing; None where it was not seen, or not surely.

        The hold is that by the limit for the look; below 0 the look came before the settle.
        """
        if name not in self._axes:
            self._axes[name] = tuple(self._on_axis(name, i) for i in range(len(self.records)))
        return self._axes[name]

    def _on_axis(self, name: str, i: int) -> float | None:
        record = self.records[i]
        if name == "short_hold":
            seen = self._looks[i]
            head = confident_value(record.measures.get("head_turn_deg"))
            if head is None or seen.look_s is None or seen.settle_s is None:
                return None
            return seen.look_s - seen.settle_s
        if (name == "posture_change") == (record.view == "face-on"):
            return None
        value = confident_value(limited_measure(record.measures, name))
        return None if value is None else fault_size(name, value)


def with_limit(limits: Limits, name: str, value: float | None = None, on: bool | None = None) -> Limits:
    """The limits with one moved, kept inside its range, or switched."""
    limit = limits.limit(name)
    return limits.changed(name, None if value is None else min(max(value, limit.low), limit.high), on)


def step_of(limit: Limit) -> float:
    """The finest step a coach sets a limit by."""
    return {"deg": 0.5, "s": 0.05, "cm": 0.1}[limit.unit]


def stepped(limit: Limit, value: float) -> float:
    """``value`` on that step, inside the range."""
    step = step_of(limit)
    return min(max(round(round(value / step) * step, 4), limit.low), limit.high)


def differences(before: Limits, after: Limits) -> tuple[str, ...]:
    """Names of the limits that are not the same."""
    return tuple(name for name in FAULT_NAMES if before.limit(name) != after.limit(name))
