"""When feedback is given: a plan for a block of strokes, worked out beforehand, the same for the same seed.

Constant feedback helps practice and harms retention (Salmoni, Schmidt and Walter 1984, Psychol. Bull. 95(3), 355-386;
Winstein and Schmidt 1990, J. Exp. Psychol. LMC 16(4), 677-691), so a block may give less than all.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from typing import Literal, get_args

ScheduleName = Literal["every", "outside", "alternate", "fading", "summary", "silent"]
SCHEDULE_NAMES: tuple[ScheduleName, ...] = get_args(ScheduleName)

FADE_FROM, FADE_TO, FADE_MEAN = 1.0, 0.25, 0.50  # Winstein and Schmidt 1990; the mean of a half from memory
SUMMARY_AFTER = 5  # Schmidt et al. 1989, J. Exp. Psychol. LMC 15, 352-359: summaries of 5, 10 and 15


@dataclass(frozen=True, slots=True)
class FeedbackLevel:
    """What one stroke of a block may give away.

    tone: a fault may sound; praise: so may the chime of a hold that was long enough; result: its sign is shown after
    it, outside_only: only where there was a fault; summary_of: after it, the last so many are summed up (0: not).
    """

    tone: bool = False
    praise: bool = False
    result: bool = False
    outside_only: bool = False
    summary_of: int = 0

    @property
    def silent(self) -> bool:
        """Nothing tells the player how this very stroke was."""
        return not (self.tone or self.praise or self.result)


ALL = FeedbackLevel(tone=True, praise=True, result=True)
NOTHING = FeedbackLevel()
OUTSIDE = FeedbackLevel(tone=True, result=True, outside_only=True)


class Plan:
    """The feedback levels of a block. After its last stroke the block's rule goes on: fading stays at its lowest proportion."""

    def __init__(
        self,
        name: ScheduleName = "every",
        strokes: int = 20,
        seed: int = 0,
        summary_after: int = SUMMARY_AFTER,
        tone: bool = True,
        praise: bool = True,
    ) -> None:
        """strokes: length of the block, for fading; summary_after: strokes between summaries; tone, praise: whether faults
        sound and good holds chime at all. Raises ValueError: too few.
        """
        if name not in SCHEDULE_NAMES:
            raise ValueError(f"no schedule {name}")
        if strokes < 1 or summary_after < 1:
            raise ValueError("a block has at least one stroke")
        self.name, self.strokes, self.seed, self.summary_after = name, strokes, seed, summary_after
        self._tone, self._praise = tone, praise
        self._faded = faded(strokes, seed) if name == "fading" else ()

    def feedback_level(self, number: int) -> FeedbackLevel:
        """What stroke ``number`` (from 1) may give away."""
        if number < 1:
            raise ValueError("strokes count from 1")
        whole = self._whole(number)
        return replace(whole, tone=whole.tone and self._tone, praise=whole.praise and self._praise)

    def _whole(self, number: int) -> FeedbackLevel:
        if self.name == "every":
            return ALL
        if self.name == "outside":
            return OUTSIDE
        if self.name == "alternate":
            return ALL if number % 2 else NOTHING
        if self.name == "fading":
            return ALL if self._fades(number) else NOTHING
        if self.name == "summary":
            return FeedbackLevel(summary_of=self.summary_after) if number % self.summary_after == 0 else NOTHING
        return NOTHING

    def _fades(self, number: int) -> bool:
        if number <= self.strokes:
            return self._faded[number - 1]
        return (number - self.strokes) % round(1 / FADE_TO) == 0


def fading_proportions(strokes: int) -> tuple[float, ...]:
    """The proportion of strokes with feedback, at each stroke: from 1 down to 0.25, with a mean of 0.5 over the block.

    p(x) = 0.25 + 0.75 (1 - x)^k, x from 0 at the first stroke to 1 at the last; k (2 for a long block) makes the mean.
    """
    if strokes == 1:
        return (FADE_FROM,)
    places = [i / (strokes - 1) for i in range(strokes)]
    low, high = 0.0, 60.0
    for _ in range(60):  # the mean falls as k grows
        k = (low + high) / 2
        mean = sum(_proportion(x, k) for x in places) / strokes
        low, high = (k, high) if mean > FADE_MEAN else (low, k)
    return tuple(_proportion(x, (low + high) / 2) for x in places)


def _proportion(x: float, k: float) -> float:
    return FADE_TO + (FADE_FROM - FADE_TO) * float((1.0 - x) ** k)


def faded(strokes: int, seed: int) -> tuple[bool, ...]:
    """Which strokes are with feedback: systematic sampling of ``fading_proportions`` from a random start.

    So every stretch gets its proportion to within one stroke, and the first stroke is always with feedback.
    """
    start = random.Random(f"fading {strokes} {seed}").random()
    given, total = [], start
    for part in fading_proportions(strokes):
        before, total = total, total + part
        given.append(math.floor(total + 1e-9) > math.floor(before + 1e-9))
    return tuple(given)
