"""What is shown in words: one sign a fault, a word a phase, and the colours. Meaning never rests on colour alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Mapping, Sequence

from trainer.coaching.verdict import Verdict, without_fault
from trainer.domain.measures import confident_value
from trainer.domain.phases import Phase
from trainer.domain.record import StrokeRecord, doubt
from trainer.domain.verdict import FAULT_NAMES, Fault, fault_words
from trainer.texts import capital, join, tr, tr_of

Colour = tuple[int, int, int]
SignKind = Literal["good", "fault", "plain"]

# Colours that people with any usual colour vision tell apart: M. Okabe and K. Ito, "Color Universal Design", 2008.
OKABE_ITO: Mapping[str, Colour] = {
    "black": (0, 0, 0),
    "orange": (230, 159, 0),
    "sky blue": (86, 180, 233),
    "bluish green": (0, 158, 115),
    "yellow": (240, 228, 66),
    "blue": (0, 114, 178),
    "vermilion": (213, 94, 0),
    "reddish purple": (204, 121, 167),
}


@dataclass(frozen=True, slots=True)
class Theme:
    """ground: behind everything; panel: behind a group; text; soft: lesser text. The last four have meanings."""

    name: str
    ground: Colour
    panel: Colour
    text: Colour
    soft: Colour
    good: Colour = OKABE_ITO["bluish green"]
    fault: Colour = OKABE_ITO["vermilion"]
    filling: Colour = OKABE_ITO["blue"]
    plain: Colour = OKABE_ITO["reddish purple"]


# Read from 4 m in sunlight and indoors: text on ground and panel has a contrast of at least 7:1 (WCAG 2.1, 1.4.6).
DARK = Theme("dark", ground=(15, 22, 19), panel=(28, 38, 34), text=(246, 244, 236), soft=(172, 184, 177))
LIGHT = Theme(
    "light",
    ground=(247, 245, 238),
    panel=(230, 228, 217),
    text=(16, 27, 22),
    soft=(66, 78, 72),
    filling=OKABE_ITO["sky blue"],
)
THEMES: Mapping[str, Theme] = {"dark": DARK, "light": LIGHT}

PHASE_WORDS: Mapping[Phase, str] = {
    Phase.AWAY: tr_of("phase", "Step in"),
    Phase.SETTING: tr_of("phase", "Set up"),
    Phase.ADDRESS: tr_of("phase", "Ready"),
    Phase.BACKSTROKE: tr_of("phase", "Back"),
    Phase.FORWARD: tr_of("phase", "Through"),
    Phase.FOLLOW: tr_of("phase", "Through"),
    Phase.HOLD: tr_of("phase", "Hold"),
    Phase.LOOKED: tr_of("phase", "Looked"),
    Phase.WALKED_OFF: tr_of("phase", "Step in"),
}

FAULT_WORDS: Mapping[str, str] = {name: capital(fault_words(name)) for name in FAULT_NAMES}
GOOD_WORD = tr("Well held")
SEEN_WORD = tr("Stroke seen")
REHEARSAL_WORD = tr("Rehearsal")
KEPT_WORD = tr("Stroke kept")
UNCOUNTED_WORD = tr("Not counted")
TOO_CLOSE_WORD = tr("Too close to call")
NOT_JUDGED_WORD = tr("Not judged")


@dataclass(frozen=True, slots=True)
class Sign:
    """word: read from 4 m; detail: a smaller line under it; kind: chooses colour and mark."""

    word: str
    detail: str
    kind: SignKind


def result_sign(record: StrokeRecord, faults: Sequence[Fault], too_close: bool = False) -> Sign:
    """The one sign for a finished stroke: its first fault by time, or how long it was held. too_close: see ``Verdict``."""
    if faults:
        first, *others = sorted(faults, key=lambda fault: fault.at_s)
        detail = fault_detail(first, rested=record.events.settle_s is not None)
        if others:
            detail += tr("; also: ") + join(", ", (fault_words(f.name) for f in others))
        if too_close:
            detail += tr("; the look too close to call")
        return Sign(FAULT_WORDS.get(first.name, first.name), detail, "fault")
    if too_close:
        return Sign(TOO_CLOSE_WORD, tr("you looked just as the putter came to rest"), "plain")
    if why := doubt(record):
        return Sign(NOT_JUDGED_WORD, why, "plain")
    if record.kind == "rehearsal":
        return Sign(REHEARSAL_WORD, tr("no ball was struck"), "plain")
    held = _value(record, "hold_s")
    if held is None:
        return Sign(SEEN_WORD, tr("no fault; how long it was held was not seen"), "plain")
    return Sign(GOOD_WORD, tr("{held:.1f} s", held=held), "good")


def summary_sign(strokes: Sequence[tuple[StrokeRecord, Verdict]], marks: Sequence[bool | None] | None = None) -> Sign:
    """One sign for several strokes: how many were good, and the commonest fault; what could not be judged is counted beside
    them. marks: by what is practised; None: by all faults.
    """
    if marks is None:
        marks = [without_fault(verdict) for _, verdict in strokes]
    called = [mark for mark in marks if mark is not None]
    names = [fault.name for _, verdict in strokes for fault in verdict.faults]
    holds = sorted(held for record, _ in strokes if (held := _value(record, "hold_s")) is not None)
    detail = []
    if names:
        commonest = max(dict.fromkeys(names), key=names.count)
        detail.append(tr("most often: {lower}", lower=fault_words(commonest)))
    if holds:
        detail.append(tr("held {holds:.1f} s", holds=holds[len(holds) // 2]))
    if (rest := len(strokes) - len(called)) > 0:
        detail.append(tr("{rest} not judged", rest=rest))
    if not called:
        return Sign(NOT_JUDGED_WORD, join("; ", detail), "plain")
    good = sum(called)
    return Sign(
        tr("{good} of {number} good", good=good, number=len(called)),
        join("; ", detail),
        "good" if good == len(called) else "plain",
    )


def fault_detail(fault: Fault, rested: bool = True) -> str:
    """By how much, in words; the very value that was judged. rested: whether the putter came to rest at all."""
    if fault.name == "early_look":
        if not rested:
            return tr("the putter had not come to rest at all")
        return tr("{value:.2f} s before the putter was still", value=fault.value)
    if fault.name == "short_hold":
        return tr("{value:.2f} s of {limit:.1f} s", value=fault.value, limit=fault.limit)
    if fault.name == "hand_stall":
        return tr(
            "the putter head passed them by {value:.0f}°, limit {limit:.0f}°", value=abs(fault.value), limit=fault.limit
        )
    if fault.name == "posture_change":
        how = tr("straightened") if fault.value > 0 else tr("bent more")
        return tr(
            "the spine {how} by {value:.0f}°, limit {limit:.0f}°", how=how, value=abs(fault.value), limit=fault.limit
        )
    unit = fault.unit
    what = {"recoil": tr("by"), "sway": tr("with the putter by"), "lift": tr("by")}.get(fault.name, "")
    return tr(
        "{what} {value:.1f} {unit}, limit {limit:.1f} {unit}",
        what=what,
        value=abs(fault.value),
        unit=unit,
        limit=fault.limit,
    ).strip()


def _value(record: StrokeRecord, name: str) -> float | None:
    return confident_value(record.measures.get(name))
