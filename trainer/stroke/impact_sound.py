"""Impact by the click of putter on ball, as a second witness: it places impact, and never makes a stroke.

A camera's pictures are stamped when they arrive, so the click comes before the picture's impact by what the camera takes; how
much is learned from the strokes themselves, and from sessions before with the same camera and microphone. Until then, and where
the sound is not plain, impact stays where the picture puts it.
"""

from __future__ import annotations

import math
import statistics
from collections import deque
from dataclasses import dataclass
from typing import Callable, Sequence

from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.sound import Onset

NAME = "impact_sound_later_s"
Onsets = Callable[[float, float], Sequence[Onset]]  # those heard from one time to another

# Click less the picture's impact before the delay is known: cameras give pictures up to a fifth of a second late (common
# practice, no source), a sound card its sound a little.
UNKNOWN_S = (-0.20, 0.10)
LEARNED_FROM, KEPT = 5, 30  # strokes
AGREE_S = 0.012  # half of the strokes' delays lie within so much of each other, else they are no delay
PICTURE_SD_S = 0.003  # what a picture's impact is off by besides its own account (``tests.bench.impact_sound``)
ONSET_SD_S = 0.001  # of a click found in noise (``tests/unit/hearing``)
SPREAD = 3.0  # standard deviations of picture and delay together that a click may be off
LEAST_WINDOW_S = 0.006
SESSIONS = 10  # that are looked back to
# From session to session the delay differs by its own spread, and as if one session more had been so far off: light changes the
# exposure, a sound card is opened anew (no source).
DRIFT_S = 0.003
# Of two sounds the louder is the ball's if it is louder by so much. Where one is expected, a sound loses APART_DB by the square
# of its distance from there (in standard deviations), and less is enough. Found on made-up sound (``bench.clicks``, seed 5).
RIVAL_DB, EXPECTED_RIVAL_DB, APART_DB = 6.0, 4.0, 3.0


@dataclass(frozen=True, slots=True)
class Delay:
    """Click less the picture's impact. sd_s: of the value; spread_s: of single strokes."""

    value_s: float
    sd_s: float
    spread_s: float
    strokes: int


@dataclass(frozen=True, slots=True)
class Placed:
    """impact_s: by picture and click; later: click less the picture's impact, unseen with a reason."""

    impact_s: float
    later: Measure


class ImpactSound:
    """``place`` as often as one likes, ``learn`` once from each finished stroke. onsets: what was heard, on the frames' clock;
    before: what sessions before let expect (``expected``).
    """

    def __init__(self, onsets: Onsets, before: Delay | None = None) -> None:
        self._onsets, self._before = onsets, before
        self._later_s: deque[float] = deque(maxlen=KEPT)
        self.strokes = self.heard = 0  # finished with a ball, and with a plain click

    @property
    def own(self) -> Delay | None:
        """By this session alone; None until five strokes agree."""
        return delay_of(self._later_s)

    @property
    def delay(self) -> Delay | None:
        """By all that is known; None: not yet."""
        own, before = self.own, self._before
        if before is None:
            return own
        if own is None:
            reach_s = SPREAD * math.hypot(before.sd_s, before.spread_s)
            near = [v for v in self._later_s if abs(v - before.value_s) <= reach_s]
            if not near:
                return before
            own = Delay(statistics.fmean(near), before.spread_s / math.sqrt(len(near)), before.spread_s, len(near))
        return together(before, own)

    def place(self, impact_s: float, sd_s: float) -> Placed:
        """impact_s, sd_s: by the picture."""
        delay, sd_s = self.delay, math.hypot(sd_s, PICTURE_SD_S)
        if delay is None:
            return self._learnable(impact_s)
        near_s = max(math.sqrt(sd_s**2 + delay.spread_s**2 + delay.sd_s**2), LEAST_WINDOW_S / SPREAD)
        later = self._plain(impact_s, delay.value_s, near_s)
        if later.value is None:
            # While only sessions before say when to listen, another delay can still be learned.
            return Placed(impact_s, later) if self.own is not None else self._learnable(impact_s)
        by_sound, sound_sd_s = impact_s + later.value - delay.value_s, math.hypot(ONSET_SD_S, delay.sd_s)
        weight = sd_s**2 / (sd_s**2 + sound_sd_s**2)  # of the sound: by inverse variance
        return Placed(impact_s + weight * (by_sound - impact_s), later)

    def _learnable(self, impact_s: float) -> Placed:
        """Impact by the picture, and what may tell the delay."""
        later = _plainest(impact_s, [(o.strength_db, o) for o in self._heard(impact_s, *UNKNOWN_S)], RIVAL_DB)
        if later.value is not None:
            later = Measure(later.value, "s", 0.0, "the camera's delay is not known yet")
        return Placed(impact_s, later)

    def _plain(self, impact_s: float, expected_s: float, near_s: float) -> Measure:
        """How much later than the picture's impact the one plain sound came near the time at which it is expected."""
        sounds = self._heard(impact_s, expected_s - SPREAD * near_s, expected_s + SPREAD * near_s)
        off = [(o.time_s - impact_s - expected_s) / near_s for o in sounds]
        weighed = [(o.strength_db - APART_DB * z * z, o) for o, z in zip(sounds, off, strict=True)]
        return _plainest(impact_s, weighed, EXPECTED_RIVAL_DB)

    def _heard(self, impact_s: float, low_s: float, high_s: float) -> Sequence[Onset]:
        return self._onsets(impact_s + low_s, impact_s + high_s)

    def learn(self, record: StrokeRecord) -> None:
        """From a stroke that is over."""
        later = record.measures.get(NAME)
        if record.kind != "ball" or later is None:
            return
        self.strokes += 1
        if later.value is not None:
            self.heard += 1
            self._later_s.append(later.value)


def _plainest(impact_s: float, weighed: Sequence[tuple[float, Onset]], rival_db: float) -> Measure:
    """How much later than impact the first of these came, by weight, if no other comes near it."""
    best = sorted(weighed, key=lambda one: -one[0])[:2]
    if not best:
        return Measure(None, "s", 0.0, "no click was heard at impact")
    if len(best) > 1 and best[0][0] - best[1][0] < rival_db:
        return Measure(None, "s", 0.0, "more than one sound at impact")
    return Measure(best[0][1].time_s - impact_s, "s", 0.9)


def delay_of(later_s: Sequence[float]) -> Delay | None:
    """The middle of those near the densest half (shortest half: Rousseeuw 1984, from memory), so that other sounds do not move
    it. The middle is the median of the means of all pairs (Hodges and Lehmann 1963, from memory): as little moved by one of
    them as the median, and as near as their mean.
    """
    if len(later_s) < LEARNED_FROM:
        return None
    values = sorted(later_s)
    count = len(values) // 2 + 1
    begin = min(range(len(values) - count + 1), key=lambda k: values[k + count - 1] - values[k])
    half = values[begin : begin + count]
    if half[-1] - half[0] > AGREE_S:
        return None
    middle = statistics.median(half)
    near = [v for v in values if abs(v - middle) <= AGREE_S]
    spread_s = max(statistics.stdev(near), ONSET_SD_S)
    pairs = statistics.median((a + b) / 2 for k, a in enumerate(near) for b in near[k:])
    return Delay(pairs, 1.02 * spread_s / math.sqrt(len(near)), spread_s, len(near))


def together(before: Delay, own: Delay) -> Delay:
    """By their own uncertainties; a session that contradicts those before stands alone."""
    off_s = own.value_s - before.value_s
    if abs(off_s) > SPREAD * math.hypot(before.sd_s, own.sd_s):
        return own
    weight = before.sd_s**2 / (before.sd_s**2 + own.sd_s**2)
    return Delay(before.value_s + weight * off_s, math.sqrt(weight) * own.sd_s, own.spread_s, own.strokes)


def expected(sessions: Sequence[Delay]) -> Delay | None:
    """Of the next session, from those before, the last one last. Those before another camera or mode came do not count."""
    last: list[Delay] = []
    for one in reversed(sessions[-SESSIONS:]):
        if abs(one.value_s - sessions[-1].value_s) > AGREE_S:
            break
        last.append(one)
    if not last:
        return None
    middle = statistics.fmean(one.value_s for one in last)
    drift_s = math.sqrt((DRIFT_S**2 + sum((one.value_s - middle) ** 2 for one in last)) / len(last))
    weights = [1 / (one.sd_s**2 + drift_s**2) for one in last]
    value = sum(w * one.value_s for w, one in zip(weights, last)) / sum(weights)
    spread_s = statistics.median(one.spread_s for one in last)
    return Delay(value, math.sqrt(drift_s**2 + 1 / sum(weights)), spread_s, sum(one.strokes for one in last))
