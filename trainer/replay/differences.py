"""What differs between two strokes by more than the method can miss, and by more than the player varies anyway. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable, Mapping

from trainer.coaching.faults import MIN_CONFIDENCE
from trainer.coaching.progress.variability import MDC_FACTOR, variability_of
from trainer.domain.record import Measure, StrokeRecord

Measures = Mapping[str, Measure]

# Measure -> (what it is called, spread (SD) of what is measured about the truth, unit of the record). On rendered clips whose
# truth is exact: README's table of accuracy; where doubt in judging is larger (coaching.faults.DOUBT) that is taken.
METHOD_SD: Mapping[str, tuple[str, float]] = {
    "backstroke_s": ("backstroke time", 0.008),
    "forward_s": ("forward time", 0.005),
    "tempo_ratio": ("tempo, back to forward", 0.06),
    "look_after_s": ("look after rest", 0.020),
    "back_cm": ("backstroke length", 0.50),
    "through_cm": ("follow-through", 0.76),
    "recoil_cm": ("putter coming back", 0.30),
    "head_turn_deg": ("head turn in the stroke", 3.28),
    "sway_cm": ("head along the line", 0.50),
    "lift_cm": ("head up", 0.40),
    "hinge_change_deg": ("arm to shaft, most", 1.50),
    "share_wrists": ("wrists' share", 0.03),
}
FEWEST = 5  # strokes of the player that a spread rests on
DECIMALS = {"s": 2, "1": 2, "deg": 1, "cm": 1}


@dataclass(frozen=True, slots=True)
class Differing:
    """One measure of two strokes. smallest: the least difference of two strokes that the method can tell (95 %).

    own: the least that is more than the player's own stroke-to-stroke spread, None when that is not known.
    """

    measure: str
    words: str
    unit: str
    first: float
    second: float
    smallest: float
    own: float | None = None

    @property
    def difference(self) -> float:
        """Second less first."""
        return self.second - self.first

    @property
    def plain(self) -> bool:
        """More than the method can miss."""
        return abs(self.difference) > self.smallest

    @property
    def unusual(self) -> bool | None:
        """More than the player varies from stroke to stroke; None when that is not known."""
        return None if self.own is None else abs(self.difference) > self.own

    @property
    def standardised(self) -> float:
        """The difference in units of what two strokes differ by anyway: 1 is just noticeable."""
        return abs(self.difference) / max(self.smallest, self.own or 0.0)

    def text(self, value: float) -> str:
        """A value with its unit."""
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"{value:.{DECIMALS.get(self.unit, 2)}f}{unit}"


def measured(measures: Measures, name: str) -> tuple[float, str] | None:
    """(value, unit) of a measure seen surely enough; look_after_s is the hold, or minus how early the look came."""
    if name == "look_after_s":
        early = measured(measures, "early_by_s")
        return (-early[0], early[1]) if early is not None else measured(measures, "hold_s")
    found = measures.get(name)
    if found is None or found.value is None or found.confidence < MIN_CONFIDENCE:
        return None
    return found.value, found.unit


def compared(first: StrokeRecord, second: StrokeRecord, own: Iterable[Measures] = ()) -> tuple[Differing, ...]:
    """Every measure seen surely in both. own: measures of strokes of this player, for the spread. Views must agree.

    Face-on and down-the-line strokes have nothing in common that could be held side by side: no rows.
    """
    if first.view != second.view:
        return ()
    strokes = list(own)
    out = []
    for name, (words, method_sd) in METHOD_SD.items():
        a, b = measured(first.measures, name), measured(second.measures, name)
        if a is None or b is None:
            continue
        spread = variability_of(v[0] for m in strokes if (v := measured(m, name)) is not None)
        theirs = spread.smallest_change if spread is not None and spread.count >= FEWEST else None
        out.append(Differing(name, words, a[1], a[0], b[0], MDC_FACTOR * method_sd, theirs))
    return tuple(out)


def differing(first: StrokeRecord, second: StrokeRecord, own: Iterable[Measures] = ()) -> tuple[Differing, ...]:
    """Only what differs by more than the smallest change that the method can tell, the largest first."""
    plain = [d for d in compared(first, second, own) if d.plain]
    return tuple(sorted(plain, key=lambda d: -d.standardised))
