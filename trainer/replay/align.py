"""Two strokes at one instant: on an event, or by phase with the stroke's time stretched between events. Pure.

The master time runs on the first stroke's own clock, 0 at the event (by phase: at the takeaway). Whatever instant is asked for,
each side shows its nearest frame: within half a frame of the alignment.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping, Sequence

import numpy as np

from trainer.domain.record import EVENT_NAMES, EventName
from trainer.errors import UsageError
from trainer.replay.derived_signals import EVENT_WORDS
from trainer.replay.stroke_clip import StrokeClip
from trainer.texts import join, tr

PHASE = "phase"
# Settle may come just before the finish; the two bound no phase together, so phases go over the settle.
PHASE_EVENTS: tuple[EventName, ...] = ("takeaway_s", "top_s", "impact_s", "settle_s", "look_s")
LEAST_PHASE_S = 0.02  # knots nearer than this are one
WORDS: Mapping[str, str] = {name: name.removesuffix("_s") for name in EVENT_NAMES}


@dataclass(frozen=True)
class Alignment:
    """knots_a, knots_b: times of the two strokes that belong together, rising; between them time is stretched evenly,
    beyond the outer ones it runs as fast as on the first stroke's clock.

    on: an event's name or "phase"; origin_s: the first stroke's time at master time 0.
    """

    on: str
    knots_a: tuple[float, ...]
    knots_b: tuple[float, ...]
    origin_s: float

    def at(self, master_s: float) -> tuple[float, float]:
        """(time of the first stroke, time of the second), s."""
        a = master_s + self.origin_s
        if a <= self.knots_a[0]:
            return a, self.knots_b[0] + (a - self.knots_a[0])
        if a >= self.knots_a[-1]:
            return a, self.knots_b[-1] + (a - self.knots_a[-1])
        return a, float(np.interp(a, self.knots_a, self.knots_b))

    def of_first(self, time_s: float) -> float:
        """Master time at a time of the first stroke."""
        return time_s - self.origin_s

    def of_second(self, time_s: float) -> float:
        """Master time at a time of the second stroke."""
        if time_s <= self.knots_b[0]:
            a = self.knots_a[0] + (time_s - self.knots_b[0])
        elif time_s >= self.knots_b[-1]:
            a = self.knots_a[-1] + (time_s - self.knots_b[-1])
        else:
            a = float(np.interp(time_s, self.knots_b, self.knots_a))
        return a - self.origin_s


def events_in_both(a: StrokeClip, b: StrokeClip) -> tuple[EventName, ...]:
    """What the two can be aligned on."""
    return tuple(n for n in EVENT_NAMES if n in a.events and n in b.events)


def align(a: StrokeClip, b: StrokeClip, on: str = PHASE) -> Alignment:
    """on: an event's name ("impact_s" or "impact") or "phase". Raises UsageError when that cannot be done."""
    both = events_in_both(a, b)
    if on == PHASE:
        names = _rising([n for n in PHASE_EVENTS if n in both], a, b)
        if not names:
            raise UsageError(tr("the two strokes have no event in common"), "align", tr("choose another pair"))
        times_a, times_b = (tuple(s.events[n] for n in names) for s in (a, b))
        return Alignment(PHASE, times_a, times_b, times_a[0])
    name = next((n for n in EVENT_NAMES if on in (n, WORDS[n])), None)
    if name is None:
        known = join(", ", (*WORDS.values(), PHASE))
        raise UsageError(tr("strokes cannot be aligned on {on}", on=on), "align", tr("one of: {known}", known=known))
    if name not in both:
        lacking = join(tr(" and "), (s.label or tr("a stroke") for s in (a, b) if name not in s.events))
        raise UsageError(
            tr("{words} was not seen in {lacking}", words=EVENT_WORDS[name], lacking=lacking),
            "align",
            tr("choose another event, or phase"),
        )
    return Alignment(name, (a.events[name],), (b.events[name],), a.events[name])


def _rising(names: Sequence[EventName], a: StrokeClip, b: StrokeClip) -> list[EventName]:
    """Those events that follow each other in both strokes (a look may come before the settle)."""
    kept: list[EventName] = []
    for name in names:
        if all(s.events[name] - s.events[kept[-1]] > LEAST_PHASE_S for s in (a, b)) if kept else True:
            kept.append(name)
    return kept


class Pair:
    """Two aligned strokes, stepped together. mirrored: the second is to be drawn mirrored, for the hands differ.

    Steps go over the first stroke's frames, so that none of them is skipped or shown twice.
    """

    def __init__(self, a: StrokeClip, b: StrokeClip, on: str = PHASE) -> None:
        self.a, self.b = a, b
        self.alignment = align(a, b, on)
        self.mirrored = a.handedness != b.handedness and a.record.view == b.record.view == "face-on"

    @property
    def span_s(self) -> tuple[float, float]:
        """Master times from the first to the last instant that either shows."""
        of_first, of_second = self.alignment.of_first, self.alignment.of_second
        return (
            min(of_first(self.a.start_s), of_second(self.b.start_s)),
            max(of_first(self.a.end_s), of_second(self.b.end_s)),
        )

    def indices(self, master_s: float) -> tuple[int, int]:
        """The frames of the two nearest to that instant."""
        time_a, time_b = self.alignment.at(master_s)
        return self.a.frames.nearest(time_a), self.b.frames.nearest(time_b)

    def frames(self, master_s: float) -> tuple[object, object]:
        """The two pictures."""
        i, j = self.indices(master_s)
        return self.a.frames.frame(i), self.b.frames.frame(j)

    def step(self, master_s: float, frames: int) -> float:
        """The master time so many frames of the first stroke on (back when negative); stops at its ends."""
        here = self.a.frames.nearest(self.alignment.at(master_s)[0])
        there = min(max(here + frames, 0), len(self.a.frames.times_s) - 1)
        return self.alignment.of_first(float(self.a.frames.times_s[there]))

    def event_s(self, event: EventName, of: str = "a") -> float | None:
        """Master time of an event of the first ("a") or second ("b") stroke; None when it was not seen."""
        stroke_clip, to_master = (self.a, self.alignment.of_first) if of == "a" else (self.b, self.alignment.of_second)
        time_s = stroke_clip.record.events.named(event)
        return None if time_s is None else to_master(time_s)
