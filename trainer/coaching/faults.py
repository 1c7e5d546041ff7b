"""The verdict on one stroke: a pure function of its record and the student's limits, the same now and years later."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Callable, Mapping

from trainer.coaching.posture.posture_change import Spine
from trainer.coaching.verdict import Verdict, near_rest
from trainer.domain.measures import LIMITED, MEASURES, MIN_CONFIDENCE, confident_value, limited_measure
from trainer.domain.record import EventName, Measure, StrokeRecord
from trainer.domain.verdict import FAULT_NAMES, Fault, FaultName
from trainer.settings.limits import Limits
from trainer.stroke.head_turn import HeadTurn
from trainer.stroke.measures import HANDS_STOP
from trainer.stroke.stretch import ENDS_SOONER_S
from trainer.texts import tr

# A value past the limit by less than its measure's repeatability is not called; for the look see ``verdict.TOO_CLOSE_S``.
DOUBT: Mapping[str, float] = {
    spec.fault: spec.repeatability
    for spec in MEASURES.values()
    if spec.fault is not None and spec.repeatability is not None and spec.fault != "early_look"
}
BOTH_WAYS = ("posture_change",)  # faults whichever way the measure goes; the others only above their limit
STALL_SHARE = 0.8  # of the limit for the angle, from which the hands' stopping makes it a stall
# Hands that never fall below this share of their speed at impact while the putter goes on do not stop (twenty rendered
# development strokes: 0.42 to 0.71, with the fault 0.04 at most); an angle of up to GOING_ON_SHARE of the limit is then an
# arm's or a long stroke's perspective, or an error of it (11.5 deg for a true 9 on a stroke of 55 cm): not sure.
HANDS_GO_ON = 0.5
GOING_ON_SHARE = 1.5
STALL_NOTE = tr(
    "stopped hands: from {stopped:.0%} of the limit on where the hands are seen to stop, from {going:.0%} where they go on",
    stopped=STALL_SHARE,
    going=GOING_ON_SHARE,
)
# Whose measure each fault that is told face-on is judged by: without it there is no verdict.
_NEEDS: Mapping[str, str] = {
    fault: "early_look" if fault == "short_hold" else fault for fault in LIMITED if fault != "posture_change"
}


@dataclass(frozen=True, slots=True)
class Look:
    """The look by this student's own limit, against the settle. None: not seen."""

    look_s: float | None
    settle_s: float | None

    @property
    def after_s(self) -> float | None:
        """From settle to look, below 0 where the look came first: the one number that is judged, printed and drawn."""
        return None if self.look_s is None or self.settle_s is None else self.look_s - self.settle_s


class Basis:
    """What judging one stroke needs whatever the limits are, worked out once."""

    def __init__(self, record: StrokeRecord) -> None:
        self.record = record
        take = record.events.takeaway_s
        self.turning = HeadTurn(record.signals, take) if take is not None else None

    @cached_property
    def spine(self) -> Spine | None:
        """None when it cannot be seen, or not from when, or nothing in the stroke is sure (``record.unsure``)."""
        take, seen = self.record.events.takeaway_s, self.record.measures.get("rest_sight")
        if take is None or self.record.signals.view != "down-the-line" or (seen is not None and not seen.confidence):
            return None
        return Spine(self.record.signals, take)

    @property
    def rest_seen(self) -> bool:
        """Whether it was seen when the putter came to rest, or that it did not: no look is early or late without."""
        seen = self.record.measures.get("rest_sight")  # records of earlier releases have none
        return seen is None or (confident_value(seen) or 0.0) >= MIN_CONFIDENCE

    def look(self, limits: Limits) -> Look:
        """The look by the student's head-turn limit; none where it has nothing to be judged against."""
        limit = limits.early_look.value
        found = self.turning.look(limit) if self.turning is not None and self.rest_seen else None
        return Look(found, self.record.events.settle_s)


Rule = Callable[[Basis, Limits, Look], "Fault | None"]


def verdict(record: StrokeRecord, limits: Limits) -> Verdict:
    """The same for the same record and limits, now and years later."""
    basis = Basis(record)
    seen = basis.look(limits)
    found = _faults(basis, limits, seen)
    return Verdict(found, indeterminate_of(basis, limits, seen, found), limits, look_too_close(basis, limits, seen))


def judge(record: StrokeRecord, limits: Limits) -> tuple[Fault, ...]:
    """The faults in order of time. Measures that were not seen, or not surely, give none."""
    basis = Basis(record)
    return _faults(basis, limits, basis.look(limits))


def _faults(basis: Basis, limits: Limits, seen: Look) -> tuple[Fault, ...]:
    found = [rule(basis, limits, seen) for rule in RULES.values()]
    return tuple(sorted((f for f in found if f is not None), key=lambda f: f.at_s))


def indeterminate(record: StrokeRecord, limits: Limits) -> tuple[FaultName, ...]:
    """The faults, in the limits' order, that could not be judged: what they need was not seen, or not surely.

    Down-the-line only the posture is asked for, and face-on all but it. A fault that ``judge`` finds is never among them.
    """
    return verdict(record, limits).indeterminate


def indeterminate_of(basis: Basis, limits: Limits, seen: Look, found: tuple[Fault, ...]) -> tuple[FaultName, ...]:
    """``indeterminate``, where the rest is worked out. found: what ``judge`` finds."""
    record, measures = basis.record, basis.record.measures
    if record.view != "face-on":
        asked = limits.posture_change.on and _posture(basis, seen) is None
        return ("posture_change",) if asked else ()
    blind = {name for name, of in _NEEDS.items() if confident_value(limited_measure(measures, of)) is None}
    if record.events.takeaway_s is None or not basis.rest_seen:
        blind |= {"early_look", "short_hold"}
    blind |= _not_watched(record, limits, seen)
    if record.events.impact_s is None:
        blind.add("hand_stall")
    hinge = confident_value(measures.get("hinge_change_deg"))
    near = hinge is not None and hinge > STALL_SHARE * limits.hand_stall.value  # there the second sign decides
    stop = confident_value(measures.get("hands_to_putter_stop"))
    against = (
        hinge is not None and limits.hand_stall.value + DOUBT["hand_stall"] < hinge
    )  # the signs contradict each other
    if (near and stop is None) or against:
        blind.add("hand_stall")
    blind -= {fault.name for fault in found}
    return tuple(name for name in FAULT_NAMES if name in blind and getattr(limits, name).on)


def _not_watched(record: StrokeRecord, limits: Limits, seen: Look) -> set[str]:
    """What the record's end leaves open where no look was seen: whether one came before rest, or before the hold was over."""
    if seen.look_s is not None:
        return set()
    if seen.settle_s is None:
        return {"early_look", "short_hold"}
    held_s = _end_s(record) - seen.settle_s
    return {"short_hold"} if held_s < limits.short_hold.value - DOUBT["short_hold"] - ENDS_SOONER_S else set()


def _head_seen(record: StrokeRecord) -> bool:
    return confident_value(record.measures.get("head_turn_deg")) is not None


def _end_s(record: StrokeRecord) -> float:
    return float(record.signals.time_s[-1])


def look_too_close(basis: Basis, limits: Limits, seen: Look) -> bool:
    """The look is neither early nor held. Where an early look is not judged, a hold of nothing is plainly short."""
    after = seen.after_s
    return limits.early_look.on and after is not None and near_rest(after) and _head_seen(basis.record)


def _early_look(basis: Basis, limits: Limits, seen: Look) -> Fault | None:
    limit = limits.early_look
    if not limit.on or seen.look_s is None or not _head_seen(basis.record):
        return None
    settle = seen.settle_s if seen.settle_s is not None else _end_s(basis.record)
    early = settle - seen.look_s
    if early <= 0 or near_rest(early):
        return None
    return Fault("early_look", seen.look_s, early, "s", 0.0)


def _short_hold(basis: Basis, limits: Limits, seen: Look) -> Fault | None:
    limit, hold = limits.short_hold, seen.after_s
    if not limit.on or seen.look_s is None or hold is None or not _head_seen(basis.record):
        return None
    if look_too_close(basis, limits, seen) or _early_look(basis, limits, seen) is not None:
        return None
    if hold >= limit.value - DOUBT["short_hold"]:
        return None
    return Fault("short_hold", seen.look_s, max(hold, 0.0), "s", limit.value)


def _hand_stall(basis: Basis, limits: Limits, _: Look) -> Fault | None:
    limit, record = limits.hand_stall, basis.record
    hinge = confident_value(record.measures.get("hinge_change_deg"))
    impact = record.events.impact_s
    if not limit.on or hinge is None or impact is None:
        return None
    stop = confident_value(record.measures.get("hands_to_putter_stop"))
    return Fault("hand_stall", impact, hinge, "deg", limit.value) if hinge > stall_deg(limit.value, stop) else None


def stall_deg(limit_deg: float, hands_share: float | None) -> float:
    """The angle from which the hands have stopped.

    hands_share: the slowest that the hands were while the putter head went on, of their speed at impact, the second sign;
    None: not known. It takes an angle too, for the two speeds alone are noisy on a small stroke.
    """
    if hands_share is not None and hands_share < HANDS_STOP[0]:
        return STALL_SHARE * limit_deg
    if hands_share is not None and hands_share > HANDS_GO_ON:
        return GOING_ON_SHARE * limit_deg
    return limit_deg + DOUBT["hand_stall"]


def _simple(name: FaultName, event: EventName) -> Rule:
    size = abs if name in BOTH_WAYS else float

    def rule(basis: Basis, limits: Limits, _: Look) -> Fault | None:
        record, limit = basis.record, getattr(limits, name)
        value = confident_value(limited_measure(record.measures, name))
        at = record.events.named(event)
        if not limit.on or value is None or size(value) <= limit.value + DOUBT[name]:
            return None
        return Fault(name, at if at is not None else _end_s(record), value, limit.unit, limit.value)

    return rule


def _posture(basis: Basis, seen: Look) -> Measure | None:
    """The spine's change until the look, or the settle, or the end; None when it was not seen, or not surely."""
    if basis.spine is None:
        return None
    measure = basis.spine.measure(_until_s(basis.record, seen))
    return measure if confident_value(measure) is not None else None


def _until_s(record: StrokeRecord, seen: Look) -> float:
    return seen.look_s or seen.settle_s or _end_s(record)


def _posture_change(basis: Basis, limits: Limits, seen: Look) -> Fault | None:
    limit = limits.posture_change
    if not limit.on or basis.spine is None:
        return None
    return basis.spine.fault(_until_s(basis.record, seen), limit.value, MIN_CONFIDENCE)


# Each fault's own rule, in the limits' order. What they find is all that ``judge`` finds.
RULES: Mapping[str, Rule] = {
    "early_look": _early_look,
    "short_hold": _short_hold,
    "hand_stall": _hand_stall,
    "recoil": _simple("recoil", "finish_s"),
    "sway": _simple("sway", "impact_s"),
    "lift": _simple("lift", "impact_s"),
    "posture_change": _posture_change,
}
