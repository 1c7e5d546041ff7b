"""The ladder: putts to several marks in blocks or at random, a window around each mark, and the lag score."""

from __future__ import annotations

import math
import random
import statistics
from dataclasses import dataclass
from typing import Literal, Mapping, Sequence

from trainer.coaching.distance.checks import LEVEL, PUTT, in_range
from trainer.coaching.distance.distance_model import Estimate
from trainer.coaching.distance.green_speed import BALL_SPEED_ERROR
from trainer.coaching.distance.published import GOOD_SPREAD_MIXED, GOOD_SPREAD_REPEATED
from trainer.coaching.distance.putt import Putt
from trainer.domain.outcome import WHERE_WORDS
from trainer.domain.units import Unit
from trainer.errors import UsageError
from trainer.texts import tr, tr_of

Order = Literal["blocked", "random"]
Place = Literal["short", "in", "long"]

# Half width of the window around a mark, of a player whose spread is not known yet: common practice, no source.
WINDOW_SHARE = 0.10
OWN_SHARE = (0.05, 0.25)  # least and most by the own spread
# A ball at the mark is read outside a window of this in 1 of 20: distance goes with speed squared, and 1.96 of its errors.
CAMERA_SHARE = 1.96 * 2.0 * BALL_SPEED_ERROR
SPREAD_PUTTS = (10, 40)  # that the own spread rests on: at least, and the newest at most
MIN_WINDOW_M = 0.30
MAX_PUTTS = 200


def order_of(distances_m: Sequence[float], each: int, order: Order, seed: int, unit: Unit = "m") -> list[float]:
    """The marks in the order in which to putt. blocked: all putts to one mark, then the next; random: every mark as
    often, no mark twice running. The same seed gives the same order. Raises UsageError.
    """
    marks = [in_range(d, PUTT, unit) for d in distances_m]
    if len(set(marks)) != len(marks) or not marks:
        raise UsageError(tr("give each distance once"), "ladder", tr("for example 2,4,6,8"))
    if each < 1 or each * len(marks) > MAX_PUTTS:
        raise UsageError(
            tr("{each} putts to each of {number} marks", each=each, number=len(marks)),
            "ladder",
            tr("allowed: 1 to {max_putts} in all", max_putts=MAX_PUTTS),
        )
    if order == "blocked":
        return [mark for mark in marks for _ in range(each)]
    if len(marks) == 1 and each > 1:
        raise UsageError(tr("one distance cannot be at random"), "ladder", tr("give two distances or more"))
    return _random(marks, each, random.Random(seed))


def _random(marks: Sequence[float], each: int, source: random.Random) -> list[float]:
    left = dict.fromkeys(marks, each)
    out: list[float] = []
    while sum(left.values()):
        rest = sum(left.values())
        # A mark that makes up more than half of what is left must come now, or it would come twice running at the end.
        due = [m for m, n in left.items() if 2 * n > rest]
        free = [m for m, n in left.items() if n and (not out or m != out[-1])]
        can = [m for m in due if m in free] or free
        out.append(source.choices(can, weights=[left[m] for m in can])[0])
        left[out[-1]] -= 1
    return out


def window_share(spread: float | None, by_camera: bool) -> float:
    """Half width as a share of the distance: the own spread, and never less than what the camera is off by."""
    own = WINDOW_SHARE if spread is None else min(max(spread, OWN_SHARE[0]), OWN_SHARE[1])
    return max(own, CAMERA_SHARE) if by_camera else own


def own_spread(putts: Sequence[Putt]) -> float | None:
    """Standard deviation of the newest putts as a share of their targets; None: too few had one. Oldest first."""
    aimed = [putt for putt in putts if putt.target_m is not None][-SPREAD_PUTTS[1] :]
    if len(aimed) < SPREAD_PUTTS[0]:
        return None
    found = lag_score(aimed).variability
    return found.value if found is not None else None


def window_m(target_m: float, share: float = WINDOW_SHARE) -> tuple[float, float]:
    """From where to where a ball is good."""
    half = max(share * target_m, MIN_WINDOW_M)
    return target_m - half, target_m + half


# As it is read; short and long as of any putt.
PLACE_WORDS: Mapping[str, str] = {
    "in": tr_of("place", "in"),
    "short": WHERE_WORDS["short"],
    "long": WHERE_WORDS["long"],
}


def place(rolled_m: float, target_m: float, share: float = WINDOW_SHARE) -> Place:
    """Where a ball stopped, seen from the window."""
    low, high = window_m(target_m, share)
    return "short" if rolled_m < low else "long" if rolled_m > high else "in"


@dataclass(frozen=True, slots=True)
class Lag:
    """Distance error as a share of the target: mean (+ long) and variability (standard deviation), each with its interval;
    in_window: share of putts. variability is None below 3 putts. by_target: target -> (putts, mean, variability or None).
    """

    putts: int
    mean: Estimate
    variability: Estimate | None
    in_window: float
    mixed: bool
    by_target: dict[float, tuple[int, float, float | None]]

    def context(self) -> str:
        """What good players do, as context."""
        good = GOOD_SPREAD_MIXED if self.mixed else GOOD_SPREAD_REPEATED
        what = tr("putts of mixed lengths") if self.mixed else tr("one 6 m putt repeated")
        return tr(
            "for context, not a target: 43 good players (handicap about 3) had a spread of {good:.1%} over {what}",
            good=good,
            what=what,
        )


def lag_score(putts: Sequence[Putt], share: float = WINDOW_SHARE, level: float = LEVEL) -> Lag:
    """Of the putts that had a target. Raises UsageError when none had."""
    from scipy.special import chdtri, stdtrit

    pairs = [(p.target_m, p.rolled_m) for p in putts if p.target_m is not None]
    if not pairs:
        raise UsageError(tr("no putt has a target"), tr("lag score"), tr("enter putts with --target"))
    errors = [rolled / target - 1.0 for target, rolled in pairs]
    n, mean = len(errors), statistics.fmean(errors)
    variability, reach = None, math.inf
    if n >= 3:
        sd = statistics.stdev(errors)
        tails = (0.5 - level / 2.0, 0.5 + level / 2.0)  # chdtri: from the upper tail
        variability = Estimate(sd, *(sd * math.sqrt((n - 1) / float(chdtri(n - 1, tail))) for tail in tails))
        reach = float(stdtrit(n - 1, tails[1])) * sd / math.sqrt(n)
    by_target: dict[float, tuple[int, float, float | None]] = {}
    for target in sorted({t for t, _ in pairs}):
        own = [rolled / target - 1.0 for t, rolled in pairs if t == target]
        by_target[target] = (len(own), statistics.fmean(own), statistics.stdev(own) if len(own) > 2 else None)
    inside = sum(place(rolled, target, share) == "in" for target, rolled in pairs) / n
    return Lag(n, Estimate(mean, mean - reach, mean + reach), variability, inside, len(by_target) > 1, by_target)
