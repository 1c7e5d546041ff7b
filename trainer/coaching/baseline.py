"""Limits that fit the student, proposed from a few rehearsal strokes without a ball.

A limit is set where a stroke is plainly outside the student's own quiet spread: typical value plus the smallest change that
two strokes of theirs can show. Rehearsals are short and quiet, and the limit then judges every length, so it stays within
bounds of its own: never tighter than what a faultless stroke of the longest length shows and may be measured, never looser
than the default by more than the measure's error. A baseline is no licence for a bad habit: only an error excuses. The hold
is different: it is the habit to be built, so it is asked for, not learned from the student.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping, Sequence

from trainer.coaching.fault_size import fault_size
from trainer.coaching.progress.variability import Variability, variability_of
from trainer.domain.measures import confident_value, limited_measure
from trainer.domain.record import Measure
from trainer.domain.verdict import FAULT_NAMES
from trainer.settings.limits import Limit, Limits
from trainer.texts import tr

STROKES = 8
FEWEST = 5
LONGEST_BACK_CM = 55.0  # the longest backstroke that the bounds were tried on (rendered, truth known)


@dataclass(frozen=True, slots=True)
class Bounds:
    """How far a baseline may move a limit, in the limit's unit.

    tightest: what a faultless stroke 55 cm back truly shows (rendered clips), and the measure's own error (twice the standard
    deviation about rendered truth, or what 95 of 100 invented strokes lie within, the larger: tests/bench/error_rates.md),
    less what judging leaves for doubt. loosest: the default and that error. What both leave: tests/bench/baseline_limits.md.
    """

    tightest: float
    loosest: float


BOUNDS: Mapping[str, Bounds] = {
    "early_look": Bounds(
        10.0, 15.0
    ),  # 0.9 deg, three times 3.3; from 20 on misses at 15 frames/s are four times as many
    "hand_stall": Bounds(
        12.0, 15.0
    ),  # 9.2 deg by perspective and the arms' own turning, 3.0; 11 calls 10 % of such strokes
    "recoil": Bounds(2.0, 3.6),  # none, 0.6; from 2 cm on no false alarms at any rate
    "sway": Bounds(3.0, 4.5),  # 2.2 cm, 1.5
    "lift": Bounds(1.5, 3.3),  # 0.3 cm, 0.8
}


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
    return tuple(_proposal(fault, strokes, limits.limit(fault)) for fault in FAULT_NAMES)


def _proposal(fault: str, strokes: Sequence[Mapping[str, Measure]], limit: Limit) -> Proposal:
    bounds = BOUNDS.get(fault)
    if bounds is None:
        return Proposal(fault, limit, limit.value, None, tr("the habit to be built: left as it is"))
    values = [confident_value(limited_measure(stroke, fault)) for stroke in strokes]
    seen = [fault_size(fault, value) for value in values if value is not None]
    spread = variability_of(seen)
    if spread is None or len(seen) < FEWEST:
        why = tr(
            "seen in {number} of {number2} strokes, {fewest} are needed",
            number=len(seen),
            number2=len(strokes),
            fewest=FEWEST,
        )
        return Proposal(fault, limit, limit.value, None, why)
    value, why = spread.typical + spread.smallest_change, tr("typical stroke and the smallest real change")
    if value > bounds.loosest:
        value, why = bounds.loosest, tr("their own strokes go further, but more is no error of the camera's")
    if value < bounds.tightest:
        value, why = bounds.tightest, tr("a faultless long stroke may measure as much")
    step = 0.5 if limit.unit == "deg" else 0.1
    value = min(max(round(value / step) * step, limit.low), limit.high)
    return Proposal(fault, limit, round(value, 2), spread, why)


def lengths_cm(strokes: Sequence[Mapping[str, Measure]]) -> tuple[float, float] | None:
    """Shortest and longest backstroke that the proposals rest on; None: no length was seen."""
    backs = [back for stroke in strokes if (back := confident_value(stroke.get("back_cm"))) is not None]
    return (min(backs), max(backs)) if backs else None
