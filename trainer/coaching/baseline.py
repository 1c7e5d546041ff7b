"""Limits that fit the student, proposed from a few rehearsal strokes without a ball.

A limit is set where a stroke is plainly outside the student's own quiet spread: typical value plus the smallest change that
two strokes of theirs can show. It is never tighter than the measuring allows, and never looser than what counts as a plain
fault for anybody: a baseline is no licence for a bad habit. The hold is different: it is the habit to be built, so it is
asked for, not learned from the student.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping, Sequence

from trainer.coaching.progress.variability import Variability, variability_of
from trainer.domain.measures import LIMITED, confident_value
from trainer.domain.record import Measure
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limit, Limits

STROKES = 8
FEWEST = 5
# Fault -> the loosest limit proposed, in the limit's unit (common practice, no source: 25 deg is a plain wrist breakdown, 12 to
# 15 deg of turn is more than a head does by itself while the shoulders rock).
_LOOSEST: Mapping[str, float] = {"early_look": 15.0, "hand_stall": 20.0, "recoil": 5.0, "sway": 5.0, "lift": 4.0}


@dataclass(frozen=True, slots=True)
class Proposal:
    """One limit. spread: of the student's strokes, None: too few seen; why: the reason, in words."""

    fault: str
    now: Limit
    value: float
    spread: Variability | None
    why: str

    @property
    def changes(self) -> bool:
        return abs(self.value - self.now.value) > 1e-9


def proposals(strokes: Sequence[Mapping[str, Measure]], limits: Limits) -> tuple[Proposal, ...]:
    """strokes: the measures of rehearsal strokes."""
    out = []
    for fault in FAULT_NAMES:
        limit = limits.limit(fault)
        if fault not in _LOOSEST:
            out.append(Proposal(fault, limit, limit.value, None, "the habit to be built: left as it is"))
            continue
        loosest = _LOOSEST[fault]
        values = [confident_value(stroke.get(LIMITED[fault].name)) for stroke in strokes]
        seen = [abs(value) for value in values if value is not None]
        spread = variability_of(seen)
        if spread is None or len(seen) < FEWEST:
            why = f"seen in {len(seen)} of {len(strokes)} strokes, {FEWEST} are needed"
            out.append(Proposal(fault, limit, limit.value, None, why))
            continue
        finest = 3.0 * (LIMITED[fault].repeatability or 0.0)
        wanted = abs(spread.typical) + max(spread.smallest_change, finest)
        value, why = wanted, "typical stroke and the smallest real change"
        if wanted > loosest:
            value, why = loosest, "their own strokes go further, but more is a plain fault"
        least = max(limit.low, finest)
        if value < least:
            value, why = least, "the camera tells no finer"
        step = 0.5 if limit.unit == "deg" else 0.1
        value = min(max(round(value / step) * step, limit.low), limit.high)
        out.append(Proposal(fault, limit, round(value, 2), spread, why))
    return tuple(out)
