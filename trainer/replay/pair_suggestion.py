"""Which two strokes teach most side by side: a rehearsal and the ball stroke that differs most from it. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping, Sequence

from trainer.domain.record import Measure, StrokeRecord
from trainer.replay.differences import FEWEST, Differing, compared
from trainer.texts import tr

# What a rehearsal lacks by nature (it meets no ball) or what only says how long the putt was is no lesson.
NO_LESSON = ("back_cm", "through_cm", "backstroke_s", "forward_s")
MOST = 40  # of each kind: the newest


@dataclass(frozen=True)
class PairSuggestion:
    """first, second: places in the strokes given; why: one sentence; by: what differs most."""

    first: int
    second: int
    why: str
    by: Differing


def propose(records: Sequence[StrokeRecord], labels: Sequence[str] = (), hold_s: float = 1.0) -> PairSuggestion | None:
    """The pair with the largest difference, measured in what the player and the method vary by anyway.

    records: strokes of one player, oldest first; labels: what they are called; hold_s: of two holds as long as this neither
    is better. Pairs of the same view only, a rehearsal first.
    None: no rehearsal, no ball stroke, or no difference that can be told.
    """
    names = list(labels) or [tr("stroke {n}", n=n) for n in range(1, len(records) + 1)]
    rehearsals = [i for i, r in enumerate(records) if r.kind == "rehearsal"][-MOST:]
    balls = [i for i, r in enumerate(records) if r.kind == "ball"][-MOST:]
    own = _within(records)
    best: tuple[float, int, int, Differing] | None = None
    for i in rehearsals:
        for j in balls:
            for row in compared(records[i], records[j], own.get(records[i].view, ())):
                both_held = row.measure == "look_after_s" and min(row.first, row.second) >= hold_s
                plain = not both_held and row.measure not in NO_LESSON and row.plain and row.unusual is not False
                # Of two as large the pair that stands closer together, then the newer one, says more.
                if plain and (
                    best is None or (row.standardised, -abs(j - i), j) > (best[0], -abs(best[2] - best[1]), best[2])
                ):
                    best = (row.standardised, i, j, row)
    if best is None:
        return None
    _, i, j, row = best
    return PairSuggestion(i, j, sentence(row, names[i], names[j]), row)


def sentence(row: Differing, rehearsal: str, ball: str) -> str:
    """Why this pair, in one sentence with the numbers."""
    times = (
        tr("{standardised:.1f} times", standardised=row.standardised)
        if row.standardised < 9.5
        else tr("{standardised:.0f} times", standardised=row.standardised)
    )
    return tr(
        "{words}: {text} in the rehearsal ({rehearsal}), {text2} with the ball ({ball}), {times} "
        "what two strokes differ by anyway",
        words=row.words,
        text=row.text(row.first),
        rehearsal=rehearsal,
        text2=row.text(row.second),
        ball=ball,
        times=times,
    )


def _within(records: Sequence[StrokeRecord]) -> dict[str, list[Mapping[str, Measure]]]:
    """View -> measures of the rehearsals, whose spread is the player's own; of all strokes where rehearsals are few."""
    out: dict[str, list[Mapping[str, Measure]]] = {}
    for view in {r.view for r in records}:
        here = [r for r in records if r.view == view]
        quiet = [r for r in here if r.kind == "rehearsal"]
        out[view] = [r.measures for r in (quiet if len(quiet) >= FEWEST else here)]
    return out
