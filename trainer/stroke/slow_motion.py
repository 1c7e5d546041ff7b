"""Whether a clip plays in slow motion without saying so: no stroke of a person's pace in it, but one when it goes faster."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Iterable, Iterator

from trainer.domain.observation import Observation
from trainer.domain.record import StrokeRecord
from trainer.stroke.tracker import Tracker

ENOUGH_FPS = 60.0
SLOWED = (4, 8)  # 120 and 240 frames a second shown as 30; common of phones, from memory
# From top to impact: 317 ms with a spread of 35 among 99 players (FACTS C1); no player's is outside of this.
FORWARD_S = (0.2, 0.5)
SLOWEST_FORWARD_S, SLOWEST_BACK_S = (
    0.93,
    1.6,
)  # a very slow stroke takes 0.9 from top to impact, and twice that before, from memory
TEMPO = (1.3, 3.5)  # back to forward; 2.1 among the same


def slowed_by(observations: Iterable[Observation]) -> int | None:
    """How many times slower than life a clip without a stroke plays; None: nothing speaks for it."""
    seen = tuple(observations)
    for times in SLOWED:
        tracker = Tracker()
        found = [tracker.update(each).closed for each in _faster(seen, times)]
        if any(_is_a_persons(record) for record in (*found, tracker.finish()) if record is not None):
            return times
    return None


def plays_slowly(record: StrokeRecord) -> bool:
    """A stroke that is slower than a person's."""
    e = record.events
    if e.takeaway_s is None or e.top_s is None or e.impact_s is None:
        return False
    return e.top_s - e.takeaway_s > SLOWEST_BACK_S and e.impact_s - e.top_s > SLOWEST_FORWARD_S


def _faster(seen: Iterable[Observation], times: int) -> Iterator[Observation]:
    """So many times; no more of them a second than it takes."""
    last_s = -math.inf
    for each in seen:
        if each.time_s / times - last_s > 0.9 / ENOUGH_FPS:
            last_s = each.time_s / times
            yield replace(each, time_s=last_s)


def _is_a_persons(record: StrokeRecord) -> bool:
    """A stroke at a ball with a usual tempo: what is done slowly between strokes has none."""
    e = record.events
    if record.kind != "ball" or e.takeaway_s is None or e.top_s is None or e.impact_s is None:
        return False
    back, forward = e.top_s - e.takeaway_s, e.impact_s - e.top_s
    return FORWARD_S[0] <= forward <= FORWARD_S[1] and TEMPO[0] <= back / forward <= TEMPO[1]
