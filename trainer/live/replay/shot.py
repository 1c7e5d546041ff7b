"""A stroke to be seen again: its record, its frames, and whose it is."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from trainer.coaching.verdict import Fault
from trainer.live.replay.figure import FigureFrames, places
from trainer.live.replay.frames import Frames, nearest
from trainer.settings.limits import Limits
from trainer.stroke.record import EVENT_NAMES, EventName, Floats, StrokeRecord
from trainer.vision.sighting import Handedness

LEAD_IN_S = 0.5  # shown before the takeaway
LEAD_OUT_S = 0.6  # and after the look
FIGURE_NOTE = "no video was kept of this stroke: drawn from its stored points"


@dataclass(frozen=True)
class Shot:
    """One stroke and its frames, on one clock: an event's time is a time of ``frames``.

    stroke_id: in the record, None for a stroke of a clip; label: what it is called in a line, such as "stroke 3";
    note: what the viewer must be told, in one line; empty: nothing.
    """

    record: StrokeRecord
    frames: Frames
    limits: Limits = field(default_factory=Limits)
    label: str = ""
    student: str = ""
    handedness: Handedness = "right"
    stroke_id: int | None = None
    faults: tuple[Fault, ...] = ()
    note: str = ""

    @property
    def events(self) -> dict[EventName, float]:
        """Those that were seen, in order of time."""
        seen = {n: t for n in EVENT_NAMES if (t := self.record.events.get(n)) is not None}
        return dict(sorted(seen.items(), key=lambda item: item[1]))

    @property
    def start_s(self) -> float:
        """Where showing begins."""
        take = self.record.events.get("takeaway_s")
        first = float(self.frames.times_s[0])
        return max(first, take - LEAD_IN_S) if take is not None else first

    @property
    def end_s(self) -> float:
        """Where showing ends."""
        last = float(self.frames.times_s[-1])
        events = self.events
        return min(last, max(events.values()) + LEAD_OUT_S) if events else last

    def frame_of(self, event: EventName) -> int | None:
        """The frame nearest to an event; None when it was not seen."""
        time_s = self.record.events.get(event)
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


def figure_shot(record: StrokeRecord, handedness: Handedness, note: str = FIGURE_NOTE, **more: object) -> Shot:
    """The stroke without video. more: as ``Shot`` takes them."""
    return Shot(record, FigureFrames(record, handedness), handedness=handedness, note=note, **more)  # type: ignore[arg-type]
