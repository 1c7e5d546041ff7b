"""A student's limits: when a measure becomes a fault. Pure values; ranges and reasons are documented per field."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Limit:
    """One fault's switch and limit. low..high is the allowed range of ``value``.

    study: what the default gives on invented strokes (``tests.bench.rates``;
    tests/bench/error_rates.md has it over the whole range).
    """

    on: bool
    value: float
    unit: str
    low: float
    high: float
    note: str
    study: str = ""


def _limit(value: float, unit: str, low: float, high: float, note: str, study: str = "") -> Limit:
    return Limit(True, value, unit, low, high, note, study)


@dataclass(frozen=True, slots=True)
class Limits:
    """Defaults of the design's table of faults; every one is a setting per student.

    early_look: head turn (deg) that counts as the look; the fault is that the look comes before settle. Beside each: false
    alarms and misses at 30 frames a second of 1,000 strokes whose true value is away from the limit by the measure's own error.
    """

    # 10 to 25 deg give the same: lower takes in the wobble of a head at rest, higher tells a look later.
    early_look: Limit = field(
        default_factory=lambda: _limit(
            12.0, "deg", 5.0, 40.0, "head turn that counts as the look", "false 0, missed 0; looks 0.04 s or more off"
        )
    )
    # Flat over the whole range: common practice asks for 1 s.
    short_hold: Limit = field(
        default_factory=lambda: _limit(
            1.0, "s", 0.2, 5.0, "least time from settle to look", "false 0, missed 0; holds 0.04 s or more off"
        )
    )
    # Flat from 6 deg on; but good strokes show up to 6 deg by perspective, and long ones 9: 12 leaves the error between.
    hand_stall: Limit = field(
        default_factory=lambda: _limit(
            12.0,
            "deg",
            4.0,
            45.0,
            "change of the lead forearm-shaft angle, impact to settle",
            "false 0, missed 0; angles 3 deg or more off",
        )
    )
    # From 2 cm on without false alarms.
    recoil: Limit = field(
        default_factory=lambda: _limit(
            3.0, "cm", 0.5, 20.0, "putter head coming back after the finish", "false 0, missed 0; 0.6 cm or more off"
        )
    )
    # Under 2 cm the player's quiet sway lies within the error.
    sway: Limit = field(
        default_factory=lambda: _limit(
            3.0, "cm", 0.5, 20.0, "head along the line, takeaway to settle", "false 0, missed 0; 1.5 cm or more off"
        )
    )
    lift: Limit = field(
        default_factory=lambda: _limit(
            2.5, "cm", 0.5, 20.0, "head up, takeaway to settle", "false 0, missed 9; 0.8 cm or more off"
        )
    )

    # No study: invented strokes are seen face-on only.
    posture_change: Limit = field(
        default_factory=lambda: _limit(4.0, "deg", 1.0, 30.0, "tilt of the spine, takeaway to look; seen down-the-line")
    )


FAULT_NAMES = ("early_look", "short_hold", "hand_stall", "recoil", "sway", "lift", "posture_change")
