"""A stroke's numbers in words, as the side of the window, the sheet and the command line show them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.posture.posture_change import kept
from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.verdict import Fault
from trainer.replay.derived_signals import signed

# Measure -> what it is called, decimals, with a sign, the fault that is judged by it.
ROWS: dict[str, tuple[str, int, bool, str]] = {
    "hold_s": ("look after rest", 2, False, "short_hold"),
    "early_by_s": ("look before rest", 2, False, "early_look"),
    "head_turn_deg": ("head turn, most", 1, True, "early_look"),
    "hinge_change_deg": ("arm to shaft, most", 1, True, "hand_stall"),
    "hands_past_leg_cm": ("hands past leg at finish", 1, True, ""),
    "back_cm": ("backstroke", 1, False, ""),
    "through_cm": ("follow-through", 1, False, ""),
    "tempo_ratio": ("tempo, back to forward", 2, False, ""),
    "putter_impact_cm_s": ("putter head at impact", 0, False, ""),
    "hands_impact_cm_s": ("hands at impact", 0, False, ""),
    "recoil_cm": ("putter coming back", 1, False, "recoil"),
    "sway_cm": ("head along the line", 1, True, "sway"),
    "lift_cm": ("head up", 1, True, "lift"),
}
UNITS = {"deg": "°", "1": "", "s": " s", "cm": " cm", "cm/s": " cm/s"}


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number as it is shown. text: "-" when not seen; fault: the stroke was faulted for it."""

    measure: str
    words: str
    text: str
    fault: bool
    value: float | None


def number_text(name: str, measure: Measure | None) -> str:
    """A measure of ROWS as it is shown."""
    if measure is None or measure.value is None:
        return "-"
    _, decimals, with_sign, _ = ROWS[name]
    text = signed(measure.value, decimals) if with_sign else f"{measure.value:.{decimals}f}"
    return text + UNITS.get(measure.unit, f" {measure.unit}")


def numbers_of(record: StrokeRecord, faults: Sequence[Fault] = ()) -> list[NumberRow]:
    """All of ROWS; of hold and early look only the one that there is; down-the-line what is measured there."""
    faulted = {fault.name for fault in faults}
    out = []
    for name, (words, _, _, fault) in ROWS.items():
        measure = record.measures.get(name)
        seen = measure is not None and measure.value is not None
        if not seen and (name in ("hold_s", "early_by_s") or record.view != "face-on"):
            continue
        value = measure.value if measure is not None else None
        out.append(NumberRow(name, words, number_text(name, measure), fault in faulted, value))
    if record.view != "face-on":
        out.append(_spine(record, "posture_change" in faulted))
    return out


def _spine(record: StrokeRecord, faulted: bool) -> NumberRow:
    """Its largest change until the look, the settle or the end, as it is judged."""
    take = record.events.get("takeaway_s")
    until = record.events.get("look_s") or record.events.get("settle_s") or float(record.signals.time_s[-1])
    value = kept(record.signals, take, until)["spine_change_deg"].value if take is not None else None
    text = "-" if value is None else f"{signed(value)}°"
    return NumberRow("spine_change_deg", "spine straighter, most", text, faulted, value)
