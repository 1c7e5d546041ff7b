"""Impact by the click of putter on ball, as a second witness: it places impact, and never makes a stroke.

A camera's pictures are stamped when they arrive, so the click comes before the picture's impact by what the camera takes; how
much is learned (``click_delay``). Until then, and where the sound is not plain, impact stays where the picture puts it.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Callable, Sequence

from trainer.domain.record import Measure, StrokeRecord
from trainer.domain.sound import Onset
from trainer.stroke.click_delay import ONSET_SD_S, SPREAD, Delay, Learned, Sound, learned, together

NAME = "impact_sound_later_s"
Onsets = Callable[[float, float], Sequence[Onset]]  # those heard from one time to another

# Click less the picture's impact before the delay is known: cameras give pictures up to a fifth of a second late (common
# practice, no source), a sound card its sound a little.
UNKNOWN_S = (-0.20, 0.10)
KEPT = 30  # strokes
LEAST_WINDOW_S = 0.006
# Of two sounds the likelier is the ball's if it is by so much. A sound loses APART_DB by the square of its distance from where
# it is expected (in standard deviations). Found on made-up sound (``bench.clicks``, seed 5).
RIVAL_DB, APART_DB = 4.0, 3.0
UNLIKE_DB = -15.0  # what is heard is less likely the ball's than this: it is not


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
        self._about: tuple[float | None, tuple[Sound, ...]] = (
            None,
            (),
        )  # the last stroke placed: its later, all that was heard
        self._strokes: deque[tuple[Sound, ...]] = deque(maxlen=KEPT)
        self._learned: Learned | None = None
        self.strokes = self.heard = 0  # finished with a ball, and with a plain click

    @property
    def own(self) -> Delay | None:
        """By this session alone; None until enough strokes agree."""
        return self._learned.delay if self._learned is not None else None

    @property
    def delay(self) -> Delay | None:
        """By all that is known; None: not yet."""
        own, before = self.own, self._before
        return before if own is None else own if before is None else together(before, own)

    def place(self, impact_s: float, sd_s: float) -> Placed:
        """impact_s, sd_s: by the picture, all that it may be off by."""
        sounds = tuple(
            Sound(onset.time_s - impact_s, onset.strength_db, onset.levels_db)
            for onset in self._onsets(impact_s + UNKNOWN_S[0], impact_s + UNKNOWN_S[1])
        )
        placed = self._placed(impact_s, sd_s, sounds)
        self._about = (placed.later.value, sounds)
        return placed

    def _placed(self, impact_s: float, sd_s: float, sounds: Sequence[Sound]) -> Placed:
        delay = self.delay
        if delay is None:
            return Placed(impact_s, _until_known(sounds))
        near_s = max(math.sqrt(sd_s**2 + delay.spread_s**2 + delay.sd_s**2), LEAST_WINDOW_S / SPREAD)
        later = self._plain(sounds, delay.value_s, near_s)
        if later.value is None:
            return Placed(impact_s, later)
        by_sound, sound_sd_s = impact_s + later.value - delay.value_s, math.hypot(ONSET_SD_S, delay.sd_s)
        weight = sd_s**2 / (sd_s**2 + sound_sd_s**2)  # of the sound: by inverse variance
        return Placed(impact_s + weight * (by_sound - impact_s), later)

    def _plain(self, sounds: Sequence[Sound], expected_s: float, near_s: float) -> Measure:
        """How much later than the picture's impact the one plain sound came near the time at which it is expected."""
        kind = self._learned.kind if self._learned is not None else None
        weighed = []
        for sound in sounds:
            z = (sound.later_s - expected_s) / near_s
            if abs(z) <= SPREAD:
                like_db = sound.strength_db if kind is None else float(kind.gain_db(sound.levels_db))
                weighed.append((like_db - APART_DB * z * z, sound))
        weighed = [one for one in weighed if kind is None or one[0] >= UNLIKE_DB]
        return _plainest(weighed)

    def learn(self, record: StrokeRecord) -> None:
        """From a stroke that is over."""
        later = record.measures.get(NAME)
        if record.kind != "ball" or later is None:
            return
        self.strokes += 1
        self.heard += later.value is not None
        value, sounds = self._about
        if value != later.value:
            sounds = (Sound(later.value, 0.0),) if later.value is not None else ()
        self._strokes.append(sounds)
        self._learned = learned(self._strokes)


def _until_known(sounds: Sequence[Sound]) -> Measure:
    later = _plainest([(sound.strength_db, sound) for sound in sounds])
    if later.value is None:
        return later
    return Measure(later.value, "s", 0.0, "the camera's delay is not known yet")


def _plainest(weighed: Sequence[tuple[float, Sound]]) -> Measure:
    """How much later than impact the first of these came, by weight, if no other comes near it."""
    best = sorted(weighed, key=lambda one: -one[0])[:2]
    if not best:
        return Measure(None, "s", 0.0, "no click was heard at impact")
    if len(best) > 1 and best[0][0] - best[1][0] < RIVAL_DB:
        return Measure(None, "s", 0.0, "more than one sound at impact")
    return Measure(best[0][1].later_s, "s", 0.9)
