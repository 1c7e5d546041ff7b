"""A student's limits: when a measure becomes a fault. Pure values; ranges and reasons are documented per field."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Limit:
    """One fault's switch and limit. low..high is the allowed range of ``value``."""

    on: bool
    value: float
    unit: str
    low: float
    high: float
    note: str


def _limit(value: float, unit: str, low: float, high: float, note: str) -> Limit:
    return Limit(True, value, unit, low, high, note)


@dataclass(frozen=True, slots=True)
class Limits:
    """Defaults of the design's table of faults; every one is a setting per student.

    early_look: head turn (deg) that counts as the look; the fault is that the look comes before settle.
    """

    early_look: Limit = field(
        default_factory=lambda: _limit(12.0, "deg", 5.0, 40.0, "head turn that counts as the look")
    )
    short_hold: Limit = field(default_factory=lambda: _limit(1.0, "s", 0.2, 5.0, "least time from settle to look"))
    hand_stall: Limit = field(
        default_factory=lambda: _limit(
            12.0, "deg", 4.0, 45.0, "change of the lead forearm-shaft angle, impact to settle"
        )
    )
    recoil: Limit = field(
        default_factory=lambda: _limit(3.0, "cm", 0.5, 20.0, "putter head coming back after the finish")
    )
    sway: Limit = field(default_factory=lambda: _limit(3.0, "cm", 0.5, 20.0, "head along the line, takeaway to settle"))
    lift: Limit = field(default_factory=lambda: _limit(2.5, "cm", 0.5, 20.0, "head up, takeaway to settle"))

    posture_change: Limit = field(
        default_factory=lambda: _limit(4.0, "deg", 1.0, 30.0, "tilt of the spine, takeaway to look; seen down-the-line")
    )


FAULT_NAMES = ("early_look", "short_hold", "hand_stall", "recoil", "sway", "lift", "posture_change")
