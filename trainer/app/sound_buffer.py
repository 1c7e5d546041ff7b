"""The sound buffer, chosen where the library tells of underruns: the smallest without one, and one size more for bad moments."""

from __future__ import annotations

import threading
from contextlib import ExitStack, closing
from typing import Callable

import numpy as np

from trainer.feedback.tones import BUFFER_SAMPLES, TonePlayer
from trainer.native_output import gathered
from trainer.processors import usable_processors
from trainer.vision.sources.base import Clock
from trainer.worker import Worker

TRIED = (128, 256, 512, 1024, 2048)
TRY_S = 2.0  # of each, beside busy cores, as while a stroke is watched
UNDERRUN = "underrun occurred"
JOIN_S = 2.0


def choose_buffer(opens: Callable[[int], TonePlayer], clock: Clock, name: str) -> int | None:
    """opens: the loudspeaker with a buffer of so many samples, playing; name: a sound of it. None: underruns are not told of."""
    with closing(opens(BUFFER_SAMPLES)) as player:
        if not getattr(player, "tells_underruns", False):
            return None
    with ExitStack() as ended:
        for _ in range(usable_processors()):
            busy = Worker("busy", _busy)
            busy.start()
            ended.callback(busy.wait, JOIN_S)
            ended.callback(busy.stop)
        for samples in TRIED:
            with gathered() as lines, closing(opens(samples)) as player:
                player.play(name)
                clock.sleep(TRY_S)
            if not any(UNDERRUN in line for line in lines):
                return min(2 * samples, TRIED[-1])
    return TRIED[-1]


def _busy(stop: threading.Event) -> None:
    """A core, as the pose model keeps it: outside of Python's lock most of the time."""
    some = np.ones((256, 256))
    while not stop.is_set():
        some = some @ some
        some /= some.max()
