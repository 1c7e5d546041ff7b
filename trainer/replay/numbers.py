"""A stroke's numbers in words, as the side of the window, the sheet and the command line show them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.posture.posture_change import kept
from trainer.domain.measures import FAR_TURN_DEG, MEASURES, confident_value, turn_text
from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.verdict import Fault
from trainer.replay.derived_signals import signed
from trainer.texts import tr

UNITS = {"deg": "°", "1": "", "s": " s", "cm": " cm", "cm/s": " cm/s"}


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number as it is shown. text: "-" when not seen, or not surely; fault: the stroke was faulted for it."""

    measure: str
    words: str
    text: str
    fault: bool
    value: float | None


def number_text(name: str, measure: Measure | None) -> str:
    """A measure as it is shown."""
    value = confident_value(measure)
    if measure is None or value is None:
        return "-"
    if name == "head_turn_deg" and abs(value) > FAR_TURN_DEG:
        return turn_text(value)
    spec = MEASURES[name]
    text = (
        signed(value, spec.decimals) if spec.signed else tr("{value:.{decimals}f}", decimals=spec.decimals, value=value)
    )
    return text + UNITS.get(measure.unit, f" {measure.unit}")


def numbers_of(record: StrokeRecord, faults: Sequence[Fault] = ()) -> list[NumberRow]:
    """All that are listed; of hold and early look only the one that there is; down-the-line what is measured there."""
    faulted = {fault.name for fault in faults}
    out = []
    for name, spec in MEASURES.items():
        if not spec.listed:
            continue
        measure = record.measures.get(name)
        value = confident_value(measure)
        if value is None and (name in ("hold_s", "early_by_s") or record.view != "face-on"):
            continue
        out.append(NumberRow(name, spec.label, number_text(name, measure), spec.fault in faulted, value))
    if record.view != "face-on":
        out.append(_spine(record, "posture_change" in faulted))
    return out


def _spine(record: StrokeRecord, faulted: bool) -> NumberRow:
    """Its largest change until the look, the settle or the end, as it is judged."""
    take = record.events.takeaway_s
    until = record.events.look_s or record.events.settle_s or float(record.signals.time_s[-1])
    value = confident_value(kept(record.signals, take, until)["spine_change_deg"]) if take is not None else None
    text = "-" if value is None else tr("{signed}°", signed=signed(value))
    return NumberRow("spine_change_deg", MEASURES["spine_change_deg"].label, text, faulted, value)
