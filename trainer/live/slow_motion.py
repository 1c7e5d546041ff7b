"""When each frame of a stroke comes in its replay: slow where there is something to be studied. Pure."""

from __future__ import annotations

import numpy as np

from trainer.domain.phases import Phase
from trainer.domain.record import EventName, Floats, StrokeRecord

AROUND_S = 0.2  # slow from so long before an event to so long after
# Where it runs at its own speed nothing is to be studied, and each picture drawn costs the live loop.
FULL_SPEED_GAP_S = 0.1
LONGEST_GAP_S = 0.5  # between frames that were lost a replay waits no longer
PHASES: tuple[tuple[EventName, Phase], ...] = (
    ("takeaway_s", Phase.BACKSTROKE),
    ("top_s", Phase.FORWARD),
    ("impact_s", Phase.FOLLOW),
    ("settle_s", Phase.HOLD),
    ("look_s", Phase.LOOKED),
)


def slow_times(record: StrokeRecord, times_s: Floats, speed: float) -> Floats:
    """(n,) seconds of the replay at which each frame comes.

    Slow from the takeaway to the settle and about the look; the hold between, where nothing moves, at its own speed.
    """
    events = record.events
    take, end = events.takeaway_s, events.settle_s or events.finish_s
    look = events.look_s
    middles = (times_s[1:] + times_s[:-1]) / 2.0
    slow = np.zeros(len(middles), dtype=bool)
    if take is None or end is None:
        slow[:] = True
    else:
        slow |= (middles > take - AROUND_S) & (middles < end + AROUND_S)
    if look is not None:
        slow |= np.abs(middles - look) < AROUND_S
    gaps = np.minimum(np.diff(times_s), LONGEST_GAP_S) / np.where(slow, speed, 1.0)
    return np.concatenate([[0.0], np.cumsum(gaps)])


def phase_at(record: StrokeRecord, time_s: float) -> Phase:
    """Where in the stroke that instant is."""
    phase: Phase = Phase.ADDRESS
    for event, then in PHASES:
        at = record.events.named(event)
        if at is not None and time_s >= at:
            phase = then
    return phase


def pictures(times_s: Floats, at_s: Floats) -> list[int]:
    """Which frames are drawn: all that are slowed, and of the others one every FULL_SPEED_GAP_S.

    times_s: of the frames; at_s: when each comes in the replay.
    """
    chosen = [0]
    for i in range(1, len(times_s)):
        slowed = at_s[i] - at_s[i - 1] > 1.001 * (times_s[i] - times_s[i - 1])
        if slowed or i == len(times_s) - 1 or at_s[i] - at_s[chosen[-1]] >= FULL_SPEED_GAP_S - 1e-6:
            chosen.append(i)
    return chosen
