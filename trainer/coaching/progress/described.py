"""How the strokes are, by measures that have no norm: the latest session against the player's own before, and its spread."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.progress.compare import Comparison, compare
from trainer.coaching.progress.facts import Session, StrokeFacts, values_of
from trainer.coaching.progress.variability import Variability, variability_of
from trainer.domain.measures import MEASURES, with_unit
from trainer.texts import tr

# In the order of a stroke. C17: a player is compared with his own baseline, not with one template.
DESCRIBED = (
    "address_stance_cm", "address_ball_share", "still_before_s", "takeaway_cm_s", "backstroke_s", "tempo_ratio",
    "hinge_back_deg", "slowing_share", "sway_cm", "hands_carry_cm", "putter_while_looking_cm", "body_while_looking_cm",
)  # fmt: skip
# Hangs on where the camera stands, which another session need not keep.
IN_ONE_SESSION = ("address_ball_share",)
FEWEST, BEFORE = 6, 12  # strokes of the latest session and before it
MOST_BEFORE = 60
# Twelve rows are looked at, so each interval is one of 99.6 %: 2.87 / 1.96 as wide. Without any change at least one row was
# called changed in 5 % of simulated sessions of 15 strokes (29 % with intervals of 95 %); a shift of one
# spread is called in 65 %.
WIDER = 1.46


@dataclass(frozen=True, slots=True)
class Described:
    """One measure. now: of the latest session's ball strokes; comparison: with those before it, None: too few, or not to be
    compared between sessions.
    """

    measure: str
    now: Variability
    comparison: Comparison | None

    @property
    def words(self) -> str:
        return with_unit(self.measure)

    @property
    def changed(self) -> bool:
        """By more than the player's own ups and downs, and than the measuring repeats to."""
        found = self.comparison
        if found is None or not found.changes:
            return False
        half = (found.difference.high - found.difference.low) / 2
        repeats = MEASURES[self.measure].repeatability or 0.0
        least = 1.96 * repeats * math.sqrt(1.0 / found.first.count + 1.0 / found.second.count)
        return abs(found.difference.value) > max(WIDER * half, least)

    def shown(self, value: float) -> str:
        """One of its numbers."""
        return tr("{value:.{decimals}f}", decimals=max(MEASURES[self.measure].decimals, 1), value=value)

    @property
    def cells(self) -> tuple[str, str, str, str, str]:
        """What, now, spread of single strokes now, before, and whether that is a change."""
        if self.comparison is None:
            before, change = "-", tr("one camera's place only") if self.measure in IN_ONE_SESSION else "-"
        else:
            before = self.shown(self.comparison.first.typical)
            change = tr("changed") if self.changed else tr("as before")
        return self.words, self.shown(self.now.typical), self.shown(self.now.sd), before, change


@dataclass(frozen=True, slots=True)
class EarlyLooks:
    """Early looks of ball strokes: before impact, and after it while the putter was still moving."""

    before_impact: int
    after_impact: int

    @property
    def words(self) -> str:
        return tr(
            "Early looks: {before_impact} before impact, {after_impact} between impact and the putter's rest.",
            before_impact=self.before_impact,
            after_impact=self.after_impact,
        )


def described(sessions: Sequence[Session]) -> tuple[Described, ...]:
    """Of every measure that the latest session shows often enough."""
    with_ball = [session for session in sessions if session.ball]
    if not with_ball:
        return ()
    latest, earlier = with_ball[-1], [stroke for session in with_ball[:-1] for stroke in session.ball]
    out = []
    for measure in DESCRIBED:
        seen, before = latest.values(measure), values_of(earlier, measure)[-MOST_BEFORE:]
        now = variability_of(seen)
        if now is None or len(seen) < FEWEST:
            continue
        apart = measure in IN_ONE_SESSION or len(before) < BEFORE
        out.append(Described(measure, now, None if apart else compare(measure, before, seen)))
    return tuple(out)


def early_looks(strokes: Sequence[StrokeFacts]) -> EarlyLooks | None:
    """None without an early look whose time against impact is known."""
    when = [
        s.measures["look_from_impact_s"]
        for s in strokes
        if s.kind == "ball" and "early_look" in s.faults and "look_from_impact_s" in s.measures
    ]
    before = sum(at < 0 for at in when)
    return EarlyLooks(before, len(when) - before) if when else None
