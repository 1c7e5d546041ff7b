"""The sounds of a stroke's cues as a track beside its pictures."""

from __future__ import annotations

from typing import Sequence

import numpy as np

from trainer.domain.verdict import Cue
from trainer.errors import UsageError
from trainer.feedback.make_sounds import RATE_HZ
from trainer.feedback.tones import Samples, load_sounds
from trainer.mp4 import SOUND_RATE_HZ
from trainer.texts import tr

assert RATE_HZ == SOUND_RATE_HZ


def cue_track(cues: Sequence[Cue], span_s: tuple[float, float], speed: float = 1.0) -> Samples:
    """Each cue at the moment it was given, silence between. span_s: what is shown, on the cues' clock; speed: at which.

    A sound that would go on beyond the end is cut. Raises UsageError where there is none in that span.
    """
    first, last = span_s
    track = np.zeros(max(1, round((last - first) / speed * RATE_HZ)), np.float32)
    sounds = load_sounds()
    heard = [cue for cue in cues if first <= cue.at_s <= last and cue.name in sounds]
    if not heard:
        raise UsageError(
            tr("no cue was given in what is shown"), "--with-sound", tr("leave it out, or take more of the stroke")
        )
    for cue in heard:
        at = round((cue.at_s - first) / speed * RATE_HZ)
        piece = sounds[cue.name][: len(track) - at]
        track[at : at + len(piece)] += piece
    return np.clip(track, -1.0, 1.0)
