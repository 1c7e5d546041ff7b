"""A stroke to be seen again: its record, its frames, and whose it is."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from trainer.domain.observation import Handedness
from trainer.domain.record import EventName, Floats, StrokeRecord
from trainer.domain.verdict import Cue, Fault
from trainer.replay.figure import FigureFrames, places
from trainer.replay.frames import Frames, nearest
from trainer.settings.limits import Limits
from trainer.texts import tr

LEAD_IN_S = 0.5  # shown before the takeaway
LEAD_OUT_S = 0.6  # and after the look
FIGURE_NOTE = tr("no video was kept of this stroke: drawn from its stored points")


def events_of(record: StrokeRecord) -> dict[EventName, float]:
    """Those that were seen, in order of time."""
    return dict(sorted(record.events, key=lambda event: event[1]))


def stretch_s(record: StrokeRecord) -> tuple[float, float]:
    """From when to when a stroke is worth seeing: a little before the takeaway to a little after the last event."""
    times = record.signals.time_s
    first, last = (float(times[0]), float(times[-1])) if len(times) else (0.0, 0.0)
    take, seen = record.events.takeaway_s, [time_s for _, time_s in record.events]
    return (first if take is None else take - LEAD_IN_S), (max(seen) + LEAD_OUT_S if seen else last)


@dataclass(frozen=True)
class StrokeClip:
    """One stroke and its frames, on one clock: an event's time is a time of ``frames``.

    stroke_id: in the record, None for a stroke of a clip; label: what it is called in a line, such as "stroke 3";
    cues: what was sounded, and when; note: what the viewer must be told, in one line; empty: nothing; too_close: see ``Verdict``.
    """

    record: StrokeRecord
    frames: Frames
    limits: Limits = field(default_factory=Limits)
    label: str = ""
    student: str = ""
    handedness: Handedness = "right"
    stroke_id: int | None = None
    faults: tuple[Fault, ...] = ()
    cues: tuple[Cue, ...] = ()
    note: str = ""
    too_close: bool = False

    @property
    def events(self) -> dict[EventName, float]:
        """Those that were seen, in order of time."""
        return events_of(self.record)

    @property
    def start_s(self) -> float:
        """Where showing begins."""
        return max(float(self.frames.times_s[0]), stretch_s(self.record)[0])

    @property
    def end_s(self) -> float:
        """Where showing ends."""
        return min(float(self.frames.times_s[-1]), stretch_s(self.record)[1])

    def frame_of(self, event: EventName) -> int | None:
        """The frame nearest to an event; None when it was not seen."""
        time_s = self.record.events.named(event)
        return None if time_s is None else self.frames.nearest(time_s)

    def sample_at(self, time_s: float) -> int:
        """Row of the record's signals nearest to a time."""
        return nearest(self.record.signals.time_s, time_s)

    def places(self, name: str) -> Floats:
        """(n, 2): where a tracked point is in ``frames``' pictures, one row a row of the signals; NaN: not seen.

        name: as in the signals without its ending, "hands", "putter", "grip", "head", "lead_elbow", "lead_ankle", ...
        """
        width = 0.0 if self.frames.drawn else float(self.frames.size[0])
        found: Floats = places(self.record, name, self.handedness, width) + np.array(self.frames.offset_px)
        return found

    def close(self) -> None:
        self.frames.close()


def figure_shot(record: StrokeRecord, handedness: Handedness, note: str = FIGURE_NOTE) -> StrokeClip:
    """The stroke without video."""
    return StrokeClip(record, FigureFrames(record, handedness), handedness=handedness, note=note)
