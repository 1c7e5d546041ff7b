"""What a lesson is to be about: proposed by size, certainty and what causes what. Pure."""

from __future__ import annotations

import statistics
from dataclasses import dataclass, replace
from typing import Literal, Mapping, Sequence

from trainer.coaching.posture.causes import cause_of
from trainer.coaching.posture.ranges import Check
from trainer.coaching.posture.words import advice, title
from trainer.coaching.progress.advice import FAULT_PHRASES
from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.progress.proportions import Proportion, proportion_of
from trainer.domain.measures import LIMITED
from trainer.domain.verdict import FAULT_NAMES, FaultName
from trainer.settings.limits import Limits
from trainer.texts import tr

SURE = 0.15  # the least that a share's interval must leave: as a week's job
LEAST = 4  # strokes that could be judged: two bad ones of four are the fewest that are sure by that interval
BEND = "spine_tilt_deg"
# What leads to what: a finding whose cause is there too waits for it (common practice, no source; the look before the rise:
# most heads rise to look). Within the address: ``posture.causes``.
CAUSES: Mapping[str, tuple[str, ...]] = {
    "posture_change": (BEND,),
    "lift": ("posture_change", "early_look"),
    "sway": ("early_look",),
    "short_hold": ("early_look",),
    "recoil": ("hand_stall",),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """name: a fault's or a posture measure's; words: what was seen; share: of the strokes that could be judged, None for a
    posture; size: how far past the limit, 1 is at it; sure: enough to begin with; after: the cause that goes before.
    """

    name: str
    kind: Literal["posture", "fault"]
    words: str
    share: Proportion | None
    size: float
    sure: bool
    after: str | None = None

    @property
    def weight(self) -> float:
        return self.size * (self.share.low if self.share is not None else 1.0)

    @property
    def reason(self) -> str:
        """Why it has its place in the order."""
        if not self.sure:
            return tr("{words}; not sure yet", words=self.words)
        return (
            tr("{words}; {called} may cause it", words=self.words, called=called(self.after))
            if self.after
            else self.words
        )


@dataclass(frozen=True, slots=True)
class Proposal:
    """priority: None: nothing was sure enough; later: the rest, in order."""

    priority: Finding | None
    later: tuple[Finding, ...]


def propose(strokes: Sequence[StrokeFacts], limits: Limits, posture: Sequence[Check] = ()) -> Proposal:
    """strokes: as they are, without feedback; posture: of a picture of the address, where there is one."""
    found = [_posture(check, posture) for check in posture if check.fault]
    found += [one for name in FAULT_NAMES if limits.limit(name).on and (one := _fault(name, strokes, limits))]
    sure = {one.name for one in found if one.sure}
    placed = [_placed(one, sure) for one in found]
    ordered = sorted(placed, key=lambda one: (not one.sure, one.after is not None, one.kind == "fault", -one.weight))
    if not ordered or not ordered[0].sure:
        return Proposal(None, tuple(ordered))
    return Proposal(ordered[0], tuple(ordered[1:]))


def _placed(one: Finding, sure: set[str]) -> Finding:
    cause = next((cause for cause in CAUSES.get(one.name, ()) if cause in sure), None)
    return replace(one, after=cause or one.after) if one.sure else one


def _posture(check: Check, checks: Sequence[Check]) -> Finding:
    hint, value = advice(check), check.measure.value
    assert value is not None
    middle, half = (check.low + check.high) / 2, max((check.high - check.low) / 2, 1e-6)
    words = tr(
        "{lower}: {words}",
        lower=title(check.name).lower(),
        words=str(hint).lower() if hint else tr("outside its range"),
    )
    first = cause_of(check, checks)
    after = first.name if first is not None else None
    return Finding(check.name, "posture", words, None, abs(value - middle) / half, True, after)


def _fault(name: FaultName, strokes: Sequence[StrokeFacts], limits: Limits) -> Finding | None:
    """None where no stroke has it."""
    judged = [stroke for stroke in strokes if was_judged(name, stroke)]
    with_it = [stroke for stroke in judged if name in stroke.faults]
    share = proportion_of(len(with_it), len(judged))
    if share is None or not with_it:
        return None
    size = statistics.median(_size(name, stroke, limits) for stroke in with_it)
    words = tr(
        "in {good} of {total} strokes {fault_phrases}",
        good=share.good,
        total=share.total,
        fault_phrases=FAULT_PHRASES[name],
    )
    return Finding(name, "fault", words, share, size, share.total >= LEAST and share.low >= SURE)


def was_judged(name: FaultName, stroke: StrokeFacts) -> bool:
    """Found, or ruled out by what was surely seen."""
    return stroke.found(name) is not None and (name in stroke.faults or stroke.told_of(name))


def _size(name: FaultName, stroke: StrokeFacts, limits: Limits) -> float:
    """How far past its limit, 1 is at it, 3 the most."""
    limit = limits.limit(name).value
    if name == "early_look":
        size = 1.0 + stroke.measures.get("early_by_s", 0.0) / 0.5
    elif name == "short_hold":
        size = 2.0 - stroke.measures.get("hold_s", limit) / limit
    else:
        size = abs(stroke.measures.get(LIMITED[name].name, limit)) / limit
    return min(max(size, 1.0), 3.0)


def called(name: str | None) -> str:
    """A finding's name in words; the coach's own words as they are."""
    if name is None:
        return ""
    if name in FAULT_PHRASES:
        return FAULT_PHRASES[name]
    try:
        return title(name).lower()
    except KeyError:
        return name
