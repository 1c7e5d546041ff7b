"""Where the ball went, as the player says it, beside how the stroke was: does the habit pay? Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.progress.proportions import Difference, Proportion, proportion_difference, proportion_of
from trainer.coaching.verdict import BY_TIMING
from trainer.domain.outcome import WHERE, PuttOutcome, Where

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
            f"{what} {share.good} of {share.total}, {share.words()}"
            for what, share in (("with the hold", self.held), ("without it", self.not_held))
            if share is not None
        ]
        found = f"Holed, {self.words}: {'; '.join(parts)}"
        difference = self.difference
        if difference is None:
            return f"{found}."
        if difference.low > 0:
            return f"{found}: the hold goes with more holed putts, and that is more than chance."
        if difference.high < 0:
            return f"{found}: fewer are holed with the hold, and that is more than chance."
        return f"{found}: no difference that can be told from chance."


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
        return "distance not said"
    if band == 0:
        return f"up to {BANDS_M[0]:g} m"
    if band == len(BANDS_M):
        return f"over {BANDS_M[-1]:g} m"
    return f"{BANDS_M[band - 1]:g} to {BANDS_M[band]:g} m"
