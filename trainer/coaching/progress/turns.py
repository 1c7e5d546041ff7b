"""Rehearsal against ball as they belong together: in one session, the rehearsals and the ball strokes right after them.

Strokes of different days, putts and tiredness are never set against each other, so what differs between sessions does not
show as a difference between the two kinds.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from itertools import groupby
from typing import Iterable, Sequence

from trainer.coaching.progress.facts import Session, StrokeFacts, values_of
from trainer.coaching.progress.proportions import Difference
from trainer.domain.measures import MEASURES

MIN_TURNS = 3


@dataclass(frozen=True, slots=True)
class TurnComparison:
    """One measure. turns: how many there are of rehearsals with the ball strokes after them; means: over the turns, of the
    rehearsals' and of the ball strokes' own means; difference: the second less the first, with a 95 % interval.
    """

    measure: str
    turns: int
    means: tuple[float, float]
    difference: Difference

    @property
    def changes(self) -> bool:
        """The interval leaves zero out, and the change is more than the measuring itself repeats to (two such means apart)."""
        repeats = MEASURES[self.measure].repeatability or 0.0
        least = 1.96 * repeats * math.sqrt(2.0 / self.turns)
        return self.difference.plain and abs(self.difference.value) > max(least, 1e-9)


def compare_turns(measure: str, sessions: Iterable[Session]) -> TurnComparison | None:
    """None of fewer than three turns in which both kinds were seen. Interval: Student's t of the turns' differences."""
    from scipy.special import stdtrit  # takes a while to import

    pairs = [pair for session in sessions for pair in _pairs(measure, session.strokes)]
    if len(pairs) < MIN_TURNS:
        return None
    apart = [ball - rehearsal for rehearsal, ball in pairs]
    value = statistics.fmean(apart)
    half = float(stdtrit(len(apart) - 1, 0.975)) * statistics.stdev(apart) / math.sqrt(len(apart))
    means = (statistics.fmean(a for a, _ in pairs), statistics.fmean(b for _, b in pairs))
    return TurnComparison(measure, len(pairs), means, Difference(value, value - half, value + half))


def _pairs(measure: str, strokes: Sequence[StrokeFacts]) -> list[tuple[float, float]]:
    """(mean of the rehearsals, mean of the ball strokes after them), turn by turn."""
    found, rehearsals = [], []
    for kind, run in groupby(strokes, key=lambda s: s.kind):
        values = values_of(run, measure)
        if kind == "rehearsal":
            rehearsals = values
        elif rehearsals and values:
            found.append((statistics.fmean(rehearsals), statistics.fmean(values)))
    return found
