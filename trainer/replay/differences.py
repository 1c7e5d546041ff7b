"""What differs between two strokes by more than the method can miss, and by more than the player varies anyway. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable, Mapping

from trainer.coaching.progress.variability import MDC_FACTOR, variability_of
from trainer.domain.measures import MEASURES, MeasureSpec, confident_value
from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.units import unit_words
from trainer.texts import tr

Measures = Mapping[str, Measure]

# Of the look's two measures the one that joins them stands for both. How a player stands hangs on where the camera stands and
# on the size reference, which two clips need not share: that is what postures are compared for.
LEFT_OUT = ("hold_s", "early_by_s", "address_ball_share", "address_stance_cm")
COMPARED: Mapping[str, MeasureSpec] = {  # those whose repeatability is known
    name: spec for name, spec in MEASURES.items() if spec.repeatability is not None and name not in LEFT_OUT
}
FEWEST = 5  # strokes of the player that a spread rests on


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
        unit = "" if self.unit == "1" else tr(" {unit}", unit=unit_words(self.unit))
        decimals = MEASURES[self.measure].decimals
        shown = round(value, decimals) + 0.0  # no -0.0
        return tr("{value:.{decimals}f}{unit}", decimals=decimals, value=shown, unit=unit)


def measured(measures: Measures, name: str) -> tuple[float, str] | None:
    """(value, unit) of a measure seen surely enough; look_after_s is the hold, or minus how early the look came."""
    if name == "look_after_s":
        early = measured(measures, "early_by_s")
        return (-early[0], early[1]) if early is not None else measured(measures, "hold_s")
    value = confident_value(measures.get(name))
    return None if value is None else (value, measures[name].unit)


def compared(first: StrokeRecord, second: StrokeRecord, own: Iterable[Measures] = ()) -> tuple[Differing, ...]:
    """Every measure seen surely in both. own: measures of strokes of this player, for the spread. Views must agree.

    Face-on and down-the-line strokes have nothing in common that could be held side by side: no rows.
    """
    if first.view != second.view:
        return ()
    strokes = list(own)
    out = []
    for name, spec in COMPARED.items():
        a, b = measured(first.measures, name), measured(second.measures, name)
        if a is None or b is None:
            continue
        spread = variability_of(v[0] for m in strokes if (v := measured(m, name)) is not None)
        theirs = spread.smallest_change if spread is not None and spread.count >= FEWEST else None
        out.append(Differing(name, spec.label, a[1], a[0], b[0], MDC_FACTOR * (spec.repeatability or 0.0), theirs))
    return tuple(out)


def differing(first: StrokeRecord, second: StrokeRecord, own: Iterable[Measures] = ()) -> tuple[Differing, ...]:
    """Only what differs by more than the smallest change that the method can tell, the largest first."""
    plain = [d for d in compared(first, second, own) if d.plain]
    return tuple(sorted(plain, key=lambda d: -d.standardised))
