"""How surely what is followed, putter or hands, was seen over a stretch of time: the same live and afterwards."""

from __future__ import annotations

import math

import numpy as np

from trainer.domain.record import Events, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import shakes_moving
from trainer.stroke.path import PUTTER_SHARE
from trainer.stroke.signals import line_px

FINE_GAP_S, UNKNOWN_GAP_S = 0.14, 0.40  # a gap up to the first costs no certainty; beyond the second times are guesses

STEADY_CM = 0.24


def gap_certainty(gap_s: float) -> float:
    """1 to 0: what is left of certainty after so long out of sight."""
    return float(min(max((UNKNOWN_GAP_S - gap_s) / (UNKNOWN_GAP_S - FINE_GAP_S), 0.0), 1.0))


def steadiness(place_cm: float) -> float:
    """1 to 0: whether a place that shakes by so much from frame to frame (standard deviation) can be told to rest.

    On invented strokes settle errs by 28 ms at most up to 0.21 cm, 70 ms at 0.38, by half a second and more beyond: a camera that
    trembles, a line found now here, now there.
    """
    return float(1 / (1 + (place_cm / STEADY_CM) ** 4))


class Sight:
    """``add`` rows in order of time; ``confidence``: the mean one, unseen rows counting nothing, less by the longest gap."""

    def __init__(self) -> None:
        self._sum, self._rows = 0.0, 0
        self._seen_s: float | None = None
        self._gap_s = 0.0

    def add(self, time_s: float, confidence: float) -> None:
        """confidence: NaN where it was not seen."""
        self._rows += 1
        if self._seen_s is None:
            self._seen_s = time_s
        self._gap_s = max(self._gap_s, time_s - self._seen_s)
        if not math.isnan(confidence):
            self._sum += confidence
            self._seen_s = time_s

    @property
    def confidence(self) -> float:
        return self._sum / self._rows * gap_certainty(self._gap_s) if self._rows else 0.0


class Shake:
    """What the place of what is followed shakes by (cm), at address or since; ``add`` rows in order of time until it rests."""

    def __init__(self, at_rest_cm: float) -> None:
        self._at_rest_cm = at_rest_cm
        self._time_s: list[float] = []
        self._place_cm: list[float] = []
        self._told: tuple[int, float] = (0, at_rest_cm)

    def add(self, time_s: float, place_cm: float) -> None:
        """place_cm: as seen, NaN where it was not."""
        self._time_s.append(time_s)
        self._place_cm.append(place_cm)

    @property
    def cm(self) -> float:
        """Worked out once for the rows there are."""
        rows = len(self._time_s)
        if self._told[0] != rows:
            moving_cm = shakes_moving(np.array(self._time_s), np.array(self._place_cm))
            self._told = rows, max(self._at_rest_cm, moving_cm)
        return self._told[1]


def sight(signals: Signals, first_s: float | None, last_s: float | None) -> float:
    """Of the putter between two times, of the hands where they stood in for it before; 0 where a time is unknown."""
    if first_s is None or last_s is None:
        return 0.0
    before = np.isfinite(line_px(signals, "putter"))[signals.time_s <= first_s]
    by_putter = before.size > 0 and before.mean() > PUTTER_SHARE
    confidence = signals["putter_conf" if by_putter else "hands_conf"]
    seen = Sight()
    for k in np.flatnonzero((signals.time_s >= first_s - 1e-9) & (signals.time_s <= last_s + 1e-9)):
        seen.add(float(signals.time_s[k]), float(confidence[k]))
    return seen.confidence


def sight_to_rest(signals: Signals, events: Events, place_cm: float) -> float:
    """From impact until it is known to rest; to the end where it never came to rest. 0 where its rest itself was not seen.

    place_cm: what it shakes by, at address or under way.
    """
    end = float(signals.time_s[-1])
    settle = events.settle_s
    last = end if settle is None else min(settle + th.SETTLE_S, end)
    if settle is not None and not sight(signals, settle, last):
        return 0.0
    return sight(signals, events.impact_s, last) * steadiness(place_cm)
