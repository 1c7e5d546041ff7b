"""What the stroke floor produces: live moments while it happens, one immutable record when it is over.

Lengths cm, angles deg, speeds cm/s, times s on the frames' own clock. Not seen is None (a NaN inside signals).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Iterator, Literal, Mapping

import numpy as np
import numpy.typing as npt

from trainer.domain.phases import Phase
from trainer.domain.player_frame import RIGHT_HANDED, PlayerFrame, View

Floats = npt.NDArray[np.float64]
Kind = Literal["ball", "rehearsal"]
EventName = Literal["takeaway_s", "top_s", "impact_s", "finish_s", "settle_s", "look_s"]

EVENT_NAMES: tuple[EventName, ...] = ("takeaway_s", "top_s", "impact_s", "finish_s", "settle_s", "look_s")


@dataclass(frozen=True, slots=True)
class Events:
    """When each event of a stroke happened (s). None: it did not, or was not seen."""

    takeaway_s: float | None = None
    top_s: float | None = None
    impact_s: float | None = None
    finish_s: float | None = None
    settle_s: float | None = None
    look_s: float | None = None

    @classmethod
    def of(cls, times_s: Mapping[str, float | None]) -> Events:
        """From times by name; a name that is no event's is left out."""
        return cls(**{name: times_s[name] for name in EVENT_NAMES if name in times_s})

    def named(self, name: EventName) -> float | None:
        """Its time, None where it did not happen."""
        time_s: float | None = getattr(self, name)
        return time_s

    def at(self, name: EventName) -> float:
        """The time of one that is known to have happened; raises LookupError where it has not."""
        time_s = self.named(name)
        if time_s is None:
            raise LookupError(name)
        return time_s

    def __iter__(self) -> Iterator[tuple[EventName, float]]:
        """(name, time) of those that happened, in the order of EVENT_NAMES."""
        return ((name, time_s) for name in EVENT_NAMES if (time_s := self.named(name)) is not None)


# Columns of Signals.columns, in the player's frame (see player_frame).
SIGNAL_NAMES = (
    "putter_along_px", "putter_up_px", "putter_conf", "shaft_deg", "putter_by_tape",
    "grip_along_px", "grip_up_px",
    "hands_along_px", "hands_up_px", "hands_conf",
    "lead_wrist_along_px", "lead_wrist_up_px", "lead_elbow_along_px", "lead_elbow_up_px", "forearm_conf",
    "lead_shoulder_along_px", "lead_shoulder_up_px", "trail_shoulder_along_px", "trail_shoulder_up_px",
    "lead_hip_along_px", "lead_hip_up_px", "trail_hip_along_px", "trail_hip_up_px",
    "lead_knee_along_px", "lead_knee_up_px", "trail_knee_along_px", "trail_knee_up_px",
    "lead_ankle_along_px", "lead_ankle_up_px", "trail_ankle_along_px", "trail_ankle_up_px",
    "head_turn_deg", "head_turn_conf", "head_along_px", "head_up_px",
    "ball_along_px", "ball_up_px", "ball_diameter_px", "ball_conf",
    "ball_cm_per_px", "body_cm_per_px", "stance_px",
)  # fmt: skip


# Down the line these too; there the along columns are NaN.
ACROSS_NAMES = tuple(n.replace("_along_", "_across_") for n in SIGNAL_NAMES if n.endswith("_along_px"))


def signal_names(view: View) -> tuple[str, ...]:
    """The columns of a stroke seen from there."""
    return SIGNAL_NAMES if view == "face-on" else (*SIGNAL_NAMES, *ACROSS_NAMES)


@dataclass(frozen=True)
class Signals:
    """The raw observations of a stretch of time as columns.

    time_s: (n,) strictly increasing; index: (n,) frame numbers; columns: name -> (n,) float64, NaN where not seen.
    """

    time_s: Floats
    index: npt.NDArray[np.int64]
    columns: Mapping[str, Floats]
    frame: PlayerFrame = RIGHT_HANDED

    @property
    def view(self) -> View:
        """From where it was seen."""
        return self.frame.view

    def __getitem__(self, name: str) -> Floats:
        return self.columns[name]


@dataclass(frozen=True, slots=True)
class Measure:
    """One number with its unit and a confidence 0..1; value None means not seen. ``reason``: why it was not, or is not sure."""

    value: float | None
    unit: str
    confidence: float
    reason: str = ""


@dataclass(frozen=True, slots=True)
class OtherStroke:
    """The same stroke as the other camera saw it. number: in its session; offset_ms: the second's time less the first's after
    arrival; session: of the record, None: not known then."""

    number: int
    offset_ms: float
    session: int | None = None


@dataclass(frozen=True, slots=True)
class StrokeContext:
    """How a stroke came about. told: the player was told how it was, None: not known; camera: None where there is but one;
    track: what was followed, putter, hands or none; look_deg: head turn that counted as the look; impact_warning: in words."""

    told: bool | None = None
    camera: Literal["first", "second"] | None = None
    other: OtherStroke | None = None
    track: str = ""
    look_deg: float | None = None
    impact_warning: str = ""


@dataclass(frozen=True)
class StrokeRecord:
    """One finished stroke. ``events`` hold refined sub-frame times (None: not seen)."""

    kind: Kind
    events: Events
    measures: Mapping[str, Measure]
    signals: Signals
    view: str = "face-on"
    context: StrokeContext = StrokeContext()


def without_signals(record: StrokeRecord) -> StrokeRecord:
    """The same stroke without its signals, for a list that grows: they are most of its 100 kB at 60 frames a second."""
    return replace(record, signals=_no_signals(tuple(record.signals.columns), record.signals.frame))


@lru_cache(maxsize=8)
def _no_signals(names: tuple[str, ...], frame: PlayerFrame) -> Signals:
    """One for all strokes: an empty array for each column of each would be most of what is left of a stroke."""
    none, no_index = np.empty(0), np.empty(0, np.int64)
    none.flags.writeable = no_index.flags.writeable = False
    return Signals(none, no_index, dict.fromkeys(names, none), frame)


def unsure(record: StrokeRecord, reason: str) -> StrokeRecord:
    """The same stroke with nothing in it sure enough to be judged. reason: in words."""
    measures = {
        name: replace(measure, confidence=0.0, reason=measure.reason if measure.value is None else reason)
        for name, measure in record.measures.items()
    }
    return replace(record, measures=measures)


def doubt(record: StrokeRecord) -> str:
    """Why nothing in it is sure (see ``unsure``); empty where something is."""
    if any(measure.confidence > 0.0 for measure in record.measures.values()):
        return ""
    return next((measure.reason for measure in record.measures.values() if measure.value is not None), "")


@dataclass(frozen=True, slots=True)
class LiveState:
    """What the tracker knows right after one observation: enough for a live cue and for the screen.

    phase: where in the stroke; events: live event times known so far in this stroke (may be refined in the record);
    new_events: those first known at this observation; turn_deg / hinge_deg: change since address, causally smoothed, None
    when not seen; speeds in cm/s; held_s: time since settle while holding; closed: the record, once, when over;
    putter_conf: how surely the putter has been seen since takeaway (mean); sight: what is followed, from impact to rest (see
    ``stroke.sight``); still_since_s: since when the putter head (the
    hands where they stand in) has been as slow as at rest, None while it is faster; doubtful: it may yet turn out to be no
    stroke (a waggle, hands that sway), or pictures of it were lost, so nothing should be said of it; uncounted: why what looked
    like a stroke is not counted, once, when that is known.
    """

    time_s: float
    phase: Phase
    events: Events
    new_events: tuple[EventName, ...] = ()
    turn_deg: float | None = None
    turn_conf: float = 0.0
    hinge_deg: float | None = None
    hinge_conf: float = 0.0
    hands_speed_cm_s: float | None = None
    putter_speed_cm_s: float | None = None
    recoil_cm: float | None = None
    sway_cm: float | None = None
    lift_cm: float | None = None
    held_s: float | None = None
    closed: StrokeRecord | None = None
    putter_conf: float = 1.0
    sight: float = 1.0
    still_since_s: float | None = None
    doubtful: bool = False
    uncounted: str = ""
