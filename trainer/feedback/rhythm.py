"""The rhythm tone: two soft ticks to count in, then three clicks: back, top, ball. One sound, so exact to the sample.

A listener hears an interval that is off by 6 ms at the earliest (Friberg and Sundberg 1995, JASA: 2.5 % above 240 ms, 6 ms
below); inside one sound there is no such error. Common practice: 2 : 1.
"""

from __future__ import annotations

import numpy as np

from trainer.domain.phases import Phase
from trainer.domain.record import LiveState
from trainer.feedback.make_sounds import Note, samples
from trainer.feedback.tones import Samples

RHYTHM = "rhythm"
STILL_S = 1.0  # at address before it begins
_SOFT_HZ, _CLICK_HZ, _BALL_HZ = 587.3, 880.0, 1174.7


def clicks_s(ratio: float, backstroke_s: float) -> tuple[float, ...]:
    """When the five sounds start: two ticks, back, top, ball. ratio: backstroke time to forward time."""
    if not (ratio > 0 and backstroke_s > 0):
        raise ValueError("a rhythm has times above zero")
    back = 2 * backstroke_s
    return 0.0, backstroke_s, back, back + backstroke_s, back + backstroke_s + backstroke_s / ratio


def rhythm_sound(ratio: float, backstroke_s: float) -> Samples:
    """Mono samples -1..1 at make_sounds.RATE_HZ."""
    pitches = (_SOFT_HZ, _SOFT_HZ, _CLICK_HZ, _CLICK_HZ, _BALL_HZ)
    louds = (0.35, 0.35, 0.9, 0.9, 1.0)
    notes = [
        Note(at, 0.09, pitch, loud=loud, fade_s=0.03, ramp_s=0.003)
        for at, pitch, loud in zip(clicks_s(ratio, backstroke_s), pitches, louds, strict=True)
    ]
    return np.asarray(samples(notes), dtype=np.float32) / np.float32(32767.0)


class RhythmGiver:
    """Says when the rhythm is to begin: once at each address, after a second in it."""

    def __init__(self) -> None:
        self._since: float | None = None
        self._given = False

    def update(self, moment: LiveState) -> bool:
        """True at the moment at which it begins."""
        if moment.phase != Phase.ADDRESS:
            self._since, self._given = None, False
            return False
        if self._since is None:
            self._since = moment.time_s
        if self._given or moment.time_s - self._since < STILL_S:
            return False
        self._given = True
        return True
