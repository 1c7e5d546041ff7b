"""Where the ball went, as the player says it, beside how the stroke was: does the habit pay? Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.progress.proportions import Difference, Proportion, proportion_difference, proportion_of
from trainer.coaching.verdict import BY_TIMING
from trainer.domain.outcome import WHERE, PuttOutcome, Where
from trainer.texts import join, tr

# Upper ends of the distances that are taken together, m. Within one the chance to hole still falls with distance.
BANDS_M = (1.5, 3.0, 6.0)


@dataclass(frozen=True, slots=True)
class PayRow:
    """Putts of about one distance: holed with the hold and without it; misses: where the others went, with and without."""

    words: str
    held: Proportion | None
    not_held: Proportion | None
    misses_held: dict[Where, int]
    misses_not: dict[Where, int]

    @property
    def difference(self) -> Difference | None:
        """Holed with the hold less without it."""
        if self.held is None or self.not_held is None:
            return None
        return proportion_difference(self.held, self.not_held)

    @property
    def sentence(self) -> str:
        """Claims no more than the interval does."""
        parts = [
            tr("{what} {good} of {total}, {words}", what=what, good=share.good, total=share.total, words=share.words())
            for what, share in ((tr("with the hold"), self.held), (tr("without it"), self.not_held))
            if share is not None
        ]
        found = tr("Holed, {words}: {listed}", words=self.words, listed=join("; ", parts))
        difference = self.difference
        if difference is None:
            return tr("{found}.", found=found)
        if difference.low > 0:
            return tr("{found}: the hold goes with more holed putts, and that is more than chance.", found=found)
        if difference.high < 0:
            return tr("{found}: fewer are holed with the hold, and that is more than chance.", found=found)
        return tr("{found}: no difference that can be told from chance.", found=found)


def pays(putts: Sequence[tuple[StrokeFacts, PuttOutcome]]) -> tuple[PayRow, ...]:
    """One row a band of distances, nearest first, distance not said last. Strokes whose look was not seen, or too close to
    call, are left out.
    """
    judged = [(s, o) for s, o in putts if s.kind == "ball" and _known(s)]
    rows = []
    for band in (*range(len(BANDS_M) + 1), None):
        some = [(s, o) for s, o in judged if _band(o.putt_m) == band]
        if some:
            held = [o for s, o in some if not _looked_soon(s)]
            rest = [o for s, o in some if _looked_soon(s)]
            rows.append(PayRow(_words(band), _holed(held), _holed(rest), _misses(held), _misses(rest)))
    return tuple(rows)


def _known(stroke: StrokeFacts) -> bool:
    """Held or not: the head was seen, and the look was not too close to call."""
    return stroke.without(BY_TIMING) is not None and (_looked_soon(stroke) or "head_turn_deg" in stroke.measures)


def _looked_soon(stroke: StrokeFacts) -> bool:
    return any(name in stroke.faults for name in BY_TIMING)


def _holed(outcomes: Sequence[PuttOutcome]) -> Proportion | None:
    return proportion_of(sum(one.where == "holed" for one in outcomes), len(outcomes))


def _misses(outcomes: Sequence[PuttOutcome]) -> dict[Where, int]:
    found = {where: sum(one.where == where for one in outcomes) for where in WHERE if where != "holed"}
    return {where: count for where, count in found.items() if count}


def _band(putt_m: float | None) -> int | None:
    return None if putt_m is None else sum(putt_m > end for end in BANDS_M)


def _words(band: int | None) -> str:
    if band is None:
        return tr("distance not said")
    if band == 0:
        return tr("up to {bands_m:g} m", bands_m=BANDS_M[0])
    if band == len(BANDS_M):
        return tr("over {bands_m:g} m", bands_m=BANDS_M[-1])
    return tr("{bands_m:g} to {bands_m2:g} m", bands_m=BANDS_M[band - 1], bands_m2=BANDS_M[band])
