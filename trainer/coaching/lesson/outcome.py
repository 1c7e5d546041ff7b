"""Before and after a lesson, side by side: shares with intervals, typical values, and whether a change is real. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.lesson.priority import was_judged
from trainer.coaching.progress.advice import FAULT_PHRASES
from trainer.coaching.progress.compare import Comparison, compare
from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.progress.proportions import Difference, Proportion, proportion_difference, proportion_of
from trainer.domain.measures import LIMITED, MEASURES
from trainer.domain.verdict import FAULT_NAMES, FaultName
from trainer.settings.limits import Limits
from trainer.texts import tr

# Shown beside the priority's own measure.
_ALSO = ("look_after_s", "hinge_change_deg", "tempo_ratio", "back_cm")


@dataclass(frozen=True, slots=True)
class ShareRow:
    """How often something went wrong; first: it is the priority. difference: before less after, None without an after."""

    words: str
    first: bool
    before: Proportion | None
    after: Proportion | None
    difference: Difference | None


@dataclass(frozen=True, slots=True)
class ValueRow:
    """A measure; comparison: None where fewer than three strokes of either were seen."""

    label: str
    unit: str
    decimals: int
    comparison: Comparison


@dataclass(frozen=True, slots=True)
class Outcome:
    """shares: of the faults that came in either, the priority first; values: measures; sentence: what it comes to."""

    shares: tuple[ShareRow, ...]
    values: tuple[ValueRow, ...]
    sentence: str


def outcome_of(
    before: Sequence[StrokeFacts], after: Sequence[StrokeFacts], limits: Limits, priority: str | None
) -> Outcome:
    """after: empty where the lesson has not come to it."""
    on = [name for name in FAULT_NAMES if limits.limit(name).on]
    names = sorted(on, key=lambda name: name != priority)
    shares = [row for name in names if (row := _share(name, before, after, name == priority))]
    measures = dict.fromkeys((*_of_priority(priority), *_ALSO))
    values = [value for name in measures if (value := _values(name, before, after))]
    return Outcome(tuple(shares), tuple(values), _sentence(shares, after, priority))


def _of_priority(priority: str | None) -> tuple[str, ...]:
    spec = LIMITED.get(priority or "")
    return (spec.name,) if spec is not None and spec.name not in ("hold_s", "head_turn_deg") else ()


def _share(
    name: FaultName, before: Sequence[StrokeFacts], after: Sequence[StrokeFacts], first: bool
) -> ShareRow | None:
    judged = [[s for s in some if was_judged(name, s)] for some in (before, after)]
    shares = [proportion_of(sum(name in s.faults for s in some), len(some)) for some in judged]
    if not first and not any(share is not None and share.good for share in shares):
        return None
    one, two = shares
    difference = proportion_difference(one, two) if one is not None and two is not None else None
    return ShareRow(FAULT_PHRASES[name], first, one, two, difference)


def _values(name: str, before: Sequence[StrokeFacts], after: Sequence[StrokeFacts]) -> ValueRow | None:
    spec = MEASURES[name]
    first, second = ([_value(s, name) for s in some] for some in (before, after))
    found = compare(name, first, second)
    return None if found is None else ValueRow(spec.label, "" if spec.unit == "1" else spec.unit, spec.decimals, found)


def _value(stroke: StrokeFacts, name: str) -> float | None:
    return stroke.look_after_s if name == "look_after_s" else stroke.measures.get(name)


def _sentence(shares: Sequence[ShareRow], after: Sequence[StrokeFacts], priority: str | None) -> str:
    """Claims no more than the interval does."""
    first = next((row for row in shares if row.first), None)
    if not after:
        return tr("The same strokes again were not made yet.")
    if priority is None:
        return tr("Nothing was chosen to work on; look at the numbers.")
    if first is None or first.before is None or first.after is None or first.difference is None:
        return tr("What was worked on is not among what the camera counts; look at the numbers.")
    one, two = first.before, first.after
    told = tr(
        "{words}: {good} of {total} strokes before, {good2} of {total2} after",
        words=first.words,
        good=one.good,
        total=one.total,
        good2=two.good,
        total2=two.total,
    )
    if first.difference.low > 0:
        return tr("{told}: less, and more than chance.", told=told)
    if first.difference.high < 0:
        return tr("{told}: more often, and more than chance.", told=told)
    return tr("{told}: so few strokes cannot tell this from chance.", told=told)
