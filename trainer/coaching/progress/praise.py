"""Praise: what is better than before, with its number, and only where the change is more than the student's own spread."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Sequence

from trainer.coaching.progress.compare import Comparison, compare
from trainer.coaching.progress.facts import StrokeFacts, sessions_of
from trainer.domain.measures import MEASURES
from trainer.texts import tr

LATEST, BEFORE = 8, 12  # strokes of each that praise rests on at least
MOST_BEFORE = 40
# Five measures are looked at, so each interval is one of 99 %: 2.58 / 1.96 as wide. With 95 % praise was simulated without any
# change in 0.09 of sessions (2000 runs).
WIDER = 1.31


class _Better(NamedTuple):
    """words: what is better; up: the better side; of_size: of its size alone."""

    words: str
    up: bool
    of_size: bool


_BETTER = {
    "look_after_s": _Better(tr("you look later after the putter's rest"), True, False),
    "hinge_change_deg": _Better(tr("the wrists give less"), False, True),
    "recoil_cm": _Better(tr("the putter comes back less"), False, False),
    "head_with_putter_cm": _Better(tr("the head goes less along with the putter"), False, False),
    "lift_cm": _Better(tr("the head rises less"), False, False),
}


@dataclass(frozen=True, slots=True)
class Praise:
    """comparison: before against the latest session; silent: all of these strokes were without feedback."""

    measure: str
    comparison: Comparison
    silent: bool

    @property
    def words(self) -> str:
        what, spec = _BETTER[self.measure].words, MEASURES[self.measure]
        decimals, unit = spec.decimals, spec.unit
        was, now = self.comparison.first, self.comparison.second
        how = tr("without feedback") if self.silent else tr("with and without feedback")
        return tr(
            "Better: {what}: {typical:.{decimals}f} {unit}, was {typical2:.{decimals}f} {unit}; more "
            "than your own ups and downs ({count} strokes against {count2}, {how}).",
            what=what,
            decimals=decimals,
            typical=now.typical,
            unit=unit,
            typical2=was.typical,
            count=now.count,
            count2=was.count,
            how=how,
        )


def praise_of(strokes: Sequence[StrokeFacts]) -> tuple[Praise, ...]:
    """The latest session against the strokes before it. Strokes without feedback alone where there are enough of them."""
    sessions = sessions_of([stroke for stroke in strokes if stroke.kind == "ball"])
    if len(sessions) < 2:
        return ()
    latest, before = list(sessions[-1].strokes), [s for one in sessions[:-1] for s in one.strokes]
    silent = [[s for s in some if s.told is False] for some in (before, latest)]
    unaided = len(silent[0]) >= BEFORE and len(silent[1]) >= LATEST
    earlier, now = silent if unaided else (before, latest)
    out = []
    for measure, better in _BETTER.items():
        first, second = (_values(some, measure, better.of_size) for some in (earlier[-MOST_BEFORE:], now))
        if len(first) < BEFORE or len(second) < LATEST:
            continue
        found = compare(measure, first, second)
        if found is not None and found.changes and _surely(found) and (found.difference.value > 0) == better.up:
            out.append(Praise(measure, found, unaided))
    return tuple(out)


def _surely(found: Comparison) -> bool:
    half = (found.difference.high - found.difference.low) / 2
    return abs(found.difference.value) > WIDER * half


def _values(strokes: Sequence[StrokeFacts], measure: str, size: bool) -> list[float]:
    seen = [s.look_after_s if measure == "look_after_s" else s.measures.get(measure) for s in strokes]
    return [abs(v) if size else v for v in seen if v is not None]
