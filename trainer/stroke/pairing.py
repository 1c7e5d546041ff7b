"""Two cameras that saw the same stroke: which strokes belong together, and how far apart their clocks are. Pure.

The frames' arrival gives a first alignment, good to a camera's delay (a few hundredths of a second, and another for each camera).
The stroke itself refines it: its own moments are told between frames in both views.
"""

from __future__ import annotations

import statistics
from dataclasses import dataclass

from trainer.domain.record import EventName, StrokeRecord

# How far off (s) a moment is told in two views at once: rendered at 30 frames a second, face-on 10, 7 and 2 ms (RMS), down the
# line takeaway 55 and 82 ms late, top 74 and 78 early, impact 10 and 20 late (two clips). What follows is less sure.
MOMENTS: dict[EventName, float] = {"takeaway_s": 0.070, "top_s": 0.076, "impact_s": 0.016}
SAME_S = 0.6  # moments farther apart than this are of another stroke; a camera's delay is far less
AGREE_S = 0.08  # the refined moments of one stroke lie this close together, or the pair is not believed


@dataclass(frozen=True, slots=True)
class Pair:
    """offset_s: what is to be taken from the second camera's times, after arrival, to fit the first's.

    by: the moments that told it; spread_s: how far they differ among themselves.
    """

    offset_s: float
    by: tuple[str, ...]
    spread_s: float


def paired(first: StrokeRecord, second: StrokeRecord, arrival_s: float = 0.0) -> Pair | None:
    """Whether both are the same stroke. arrival_s: to be added to the second's times to be on the first's clock.

    None when they are not, or when too little was seen in both to say so.
    """
    apart: list[tuple[float, float, str]] = []
    for name, spread in MOMENTS.items():
        a, b = _moment(first, name), _moment(second, name)
        if a is not None and b is not None:
            apart.append((b + arrival_s - a, spread, name))
    if not apart:
        return None
    middle = statistics.median(gap for gap, _, _ in apart)
    good = [(gap, spread, name) for gap, spread, name in apart if abs(gap - middle) <= AGREE_S]
    if not good or abs(middle) > SAME_S:
        return None
    weights = [1.0 / spread**2 for _, spread, _ in good]
    offset = sum(w * gap for w, (gap, _, _) in zip(weights, good, strict=True)) / sum(weights)
    gaps = [gap for gap, _, _ in good]
    return Pair(offset, tuple(name for _, _, name in good), max(gaps) - min(gaps))


def _moment(record: StrokeRecord, name: EventName) -> float | None:
    """A moment of the stroke; down the line the impact is when the ball left, which that view sees better than the putter."""
    time_s = record.events.named(name)
    later = record.measures.get("impact_ball_later_s")
    if name != "impact_s" or record.view == "face-on" or time_s is None or later is None or later.value is None:
        return time_s
    return time_s + later.value
