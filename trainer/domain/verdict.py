"""What judging gives: faults in the record's own words, and cues for the moment."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Mapping, get_args

FaultName = Literal["early_look", "short_hold", "hand_stall", "recoil", "sway", "lift", "posture_change"]
FAULT_NAMES: tuple[FaultName, ...] = get_args(FaultName)
# View -> the faults that are judged from there.
SEEN_FROM: Mapping[str, tuple[FaultName, ...]] = {
    "face-on": tuple(name for name in FAULT_NAMES if name != "posture_change"),
    "down-the-line": ("posture_change",),
}


@dataclass(frozen=True, slots=True)
class Fault:
    """at_s: when it happened; value against limit, same unit."""

    name: str
    at_s: float
    value: float
    unit: str
    limit: float


@dataclass(frozen=True, slots=True)
class Cue:
    """Something to sound or show now. name: a fault's name, or "hold_done"; at_s: the frame time that settled it."""

    name: str
    at_s: float
