"""The rhythm tone: one soft tone. It hums low, rises through the backstroke, turns at the top and falls to the ball.

A glide is followed as the swing is, and has no beat to be hit. One sound, so exact to the sample: a listener hears an interval
that is off by 6 ms at the earliest (Friberg and Sundberg 1995, JASA: 2.5 % above 240 ms, 6 ms below). Common practice: 2 : 1.
"""

from __future__ import annotations

import numpy as np

from trainer.domain.phases import Phase
from trainer.domain.record import LiveState
from trainer.feedback.make_sounds import RATE_HZ
from trainer.feedback.tones import Samples
from trainer.texts import tr

RHYTHM = "rhythm"
STILL_S = 1.0  # at address before it begins
LOW_HZ, HIGH_HZ = 392.0, 784.0  # G4 and the octave above: small loudspeakers give both
LOUD = 0.4  # of full scale
OVERTONES = (0.20, 0.06)  # strength of the 2nd and 3rd partial beside the 1st
RAMP_S = 0.08  # it swells and dies


def turns_s(ratio: float, backstroke_s: float) -> tuple[float, float, float]:
    """When the tone begins to rise, turns, and is down again: start, top, ball. Before, it hums for as long as the backstroke.

    ratio: backstroke time to forward time.
    """
    if not (ratio > 0 and backstroke_s > 0):
        raise ValueError(tr("a rhythm has times above zero"))
    return backstroke_s, 2 * backstroke_s, 2 * backstroke_s + backstroke_s / ratio


def rhythm_sound(ratio: float, backstroke_s: float, to_top: bool = False) -> Samples:
    """Mono samples -1..1 at make_sounds.RATE_HZ; it ends a RAMP_S after the ball.

    to_top: it has died away at the top, and the forward stroke is made in silence.
    """
    rise, top, ball = turns_s(ratio, backstroke_s)
    t = np.arange(round((top if to_top else ball + RAMP_S) * RATE_HZ)) / RATE_HZ
    octaves = np.interp(t, (rise, top, ball), (0.0, np.log2(HIGH_HZ / LOW_HZ), 0.0))
    angle = 2.0 * np.pi * np.cumsum(LOW_HZ * 2.0**octaves) / RATE_HZ
    wave = np.sin(angle) + sum(part * np.sin(k * angle) for k, part in enumerate(OVERTONES, 2))
    edge = np.clip(np.minimum(t, t[-1] - t) / RAMP_S, 0.0, 1.0)
    swell = 0.5 - 0.5 * np.cos(np.pi * edge)
    return np.asarray(LOUD * swell * wave / np.abs(wave).max(), dtype=np.float32)


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
