"""A player's own tempo and pace, and a rhythm drill set by them.

How a player times a stroke is his own and stays so for months (Mathers and Grealy 2014, Front. Psychol. 4:1005), and none of the
ways is more accurate (McLaughlin and Best 2013, J. Sports Sci.). So the drill leads to his own backstroke, not to a
model's. The ratio alone is no goal: a stroke hurried back and through keeps it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.progress.variability import variability_of
from trainer.settings.drill_file import Drill, Goal, RhythmTable
from trainer.settings.keys import Within, range_of

STROKES, FEWEST = 40, 12  # of the newest ball strokes outside the drill
# Single strokes spread by less than this: the rhythm is there, and a sound in mid-stroke would only take attention to it, which
# costs those who have it (Beilock and Gray 2012; Toner and Moran 2011). The spread: 6 % of tempo is heard over several strokes.
STEADY_SHARE = 0.06
RATIO_EITHER_SIDE = 0.5  # as wide as the bundled drill's own range


@dataclass(frozen=True, slots=True)
class OwnRhythm:
    """ratio: backstroke to forward time; backstroke_s: typical; sd_s: of single strokes; strokes: it rests on."""

    ratio: float
    backstroke_s: float
    sd_s: float
    strokes: int

    @property
    def steady(self) -> bool:
        """Whether the player has a rhythm already."""
        return self.sd_s <= STEADY_SHARE * self.backstroke_s


def own_rhythm(strokes: Sequence[StrokeFacts], but_of: str = "") -> OwnRhythm | None:
    """From the newest ball strokes that were not made in that drill; None of too few."""
    ball = [s for s in strokes if s.kind == "ball" and (not but_of or s.drill != but_of)]
    timed = [s.measures for s in ball if "tempo_ratio" in s.measures and "backstroke_s" in s.measures][-STROKES:]
    if len(timed) < FEWEST:
        return None
    ratio = variability_of(m["tempo_ratio"] for m in timed)
    back = variability_of(m["backstroke_s"] for m in timed)
    assert ratio is not None
    assert back is not None
    return OwnRhythm(ratio.typical, back.typical, back.sd, len(timed))


def at_own_rhythm(drill: Drill, own: OwnRhythm | None) -> Drill:
    """The drill with the player's own rhythm for its tone and goals, where it asks for that and the rhythm is known.

    A ratio under the drill's own goal is a hurried backstroke: then the backstroke is the one that this goal asks for, at the
    player's own pace forward.
    """
    if own is None or not drill.rhythm.own:
        return drill
    asked = dict(drill.goals.given()).get("tempo_ratio")
    least = asked.at_least if asked is not None and asked.at_least is not None else own.ratio
    ratio = max(own.ratio, least)
    keys = RhythmTable.model_fields
    back_s = _within(own.backstroke_s * ratio / own.ratio, range_of(keys["backstroke_s"]))
    rhythm = RhythmTable(
        ratio=_within(ratio, range_of(keys["ratio"])),
        backstroke_s=back_s,
        own=True,
        until="top" if own.steady and ratio == own.ratio else "ball",
    )
    goals = {
        "tempo_ratio": Goal[float](
            at_least=round(ratio - RATIO_EITHER_SIDE, 2), at_most=round(ratio + RATIO_EITHER_SIDE, 2)
        ),
        # One standard deviation quicker than usual: five of six ordinary strokes of his own are slower.
        "backstroke_s": Goal[float](at_least=round(back_s - own.sd_s, 2)),
    }
    return drill.model_copy(update={"rhythm": rhythm, "goals": drill.goals.model_copy(update=goals)})


def _within(value: float, bounds: Within) -> float:
    return round(min(max(value, bounds.low), bounds.high), 2)
