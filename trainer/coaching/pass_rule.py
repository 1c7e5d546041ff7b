"""When a drill is passed: on strokes without feedback alone, enough of them, and on two test days running. Pure.

With feedback a stroke shows what the feedback does, not what was learned (Salmoni, Schmidt and Walter 1984, Psychol. Bull.
95(3), 355-386). How many strokes a test takes is worked out from the goal: `python -m tests.bench.pass_rule` shows the curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Iterable, Sequence

BELOW, ABOVE, NEAR_ALL = (
    0.15,
    0.10,
    0.97,
)  # a player so far below the goal fails; one so far above it, or at 97 %, passes
MOST_WRONG_PASSES, LEAST_RIGHT_PASSES = 0.10, 0.80  # of tests
DAYS = 2  # test days running that make a pass for good
SPARE = 1.5  # a test ends after this many times its strokes, also where too few of them could be judged


@dataclass(frozen=True, slots=True)
class SilentTest:
    """strokes: that can be judged; good: of them at least."""

    strokes: int
    good: int

    @property
    def most(self) -> int:
        """Strokes, judged or not, after which it is over."""
        return math.ceil(SPARE * self.strokes)


@lru_cache(maxsize=64)
def silent_test(good: int, of: int, at_least: int = 1) -> SilentTest:
    """The shortest test of so many strokes or more that tells a player below the goal (good of so many) from one above."""
    goal = good / of
    below, above = max(goal - BELOW, 0.0), min(goal + ABOVE, NEAR_ALL)
    strokes = at_least
    while True:
        needed = next(k for k in range(1, strokes + 2) if at_least_good(k, strokes, below) <= MOST_WRONG_PASSES)
        if at_least_good(needed, strokes, above) >= LEAST_RIGHT_PASSES:
            return SilentTest(strokes, needed)
        strokes += 1


def at_least_good(good: int, strokes: int, skill: float) -> float:
    """Chance of so many good strokes or more where each one is good with the chance ``skill``."""
    return sum(math.comb(strokes, k) * skill**k * (1.0 - skill) ** (strokes - k) for k in range(good, strokes + 1))


@dataclass(frozen=True, slots=True)
class DayTest:
    """A day's strokes in silence in one drill, up to the test's number: the first ones count, those after are practice.
    unjudged: beside them, could not be judged.
    """

    day: date
    good: int = 0
    judged: int = 0
    unjudged: int = 0

    def passed(self, test: SilentTest) -> bool | None:
        """None: it can still be passed, or came to no end."""
        if self.judged - self.good > test.strokes - test.good:
            return False
        return True if self.judged >= test.strokes else None


def with_marks(
    days: Sequence[DayTest], test: SilentTest, marks: Iterable[tuple[date, bool | None]]
) -> tuple[DayTest, ...]:
    """marks: in order of time; good: None: could not be judged."""
    out = list(days)
    for day, good in marks:
        if not out or out[-1].day != day:
            out.append(DayTest(day))
        now = out[-1]
        if now.judged >= test.strokes:
            continue
        if good is None:
            out[-1] = replace(now, unjudged=now.unjudged + 1)
        else:
            out[-1] = replace(now, good=now.good + good, judged=now.judged + 1)
    return tuple(out)


def passed_for_good(days: Sequence[DayTest], test: SilentTest) -> date | None:
    """The day on which it was: passed on two test days running. Later tests do not take it back."""
    running = 0
    for one in days:
        passed = one.passed(test)
        running = running if passed is None else running + 1 if passed else 0
        if running >= DAYS:
            return one.day
    return None


def passed_before(days: Sequence[DayTest], test: SilentTest, today: date) -> date | None:
    """The day before today whose test was passed and is still to be passed again."""
    told = [one for one in days if one.day != today and one.passed(test) is not None]
    return told[-1].day if told and told[-1].passed(test) else None
