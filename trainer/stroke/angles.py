"""Angle of arm and shaft in the picture. Axes: along + toward the target, up + up; degrees."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Mapping

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Floats, Signals

# The pose model's elbow is its worst point of the arm (up to 7 deg of false forearm turn on rendered truth); in a putt the
# elbow's bend hardly changes, so the arm's direction is taken from the middle of the upper arm to the hands: error of the
# change within 3.0 deg (SD 1.6) where elbow to wrist alone gave 6.7 (SD 2.6).
UPPER_ARM_SHARE = 0.5
# A point of the grip, this share of the way from the middle of the upper arm to the wrist below the wrist, is what the arm's
# direction goes to. It moves as the putter does, which holds it, and as the lead wrist does; the pose model's wrist is up to 4 px
# off in a long stroke, a putter's place errs where the picture foreshortens it: their mean counts. On 23 rendered strokes the
# change of the angle is 1.2 deg off (RMS, 2.3 at most) after impact and 1.1 in the backstroke; by the wrist alone 1.6 (3.5), 1.6.
BELOW_WRIST_SHARE = 0.1
BY_PUTTER_SHARE = 0.5

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Grip:
    """Where that point lies at address, px: down the shaft and across it from the putter's head; along and up from the wrist."""

    down: float
    across: float
    wrist_along: float
    wrist_up: float


def _middle(values: Floats, where: Mask) -> float:
    use = where & np.isfinite(values)
    return float(np.median(values[use])) if use.any() else math.nan


def grip_at(columns: Mapping[str, Floats], address: Mask) -> Grip:
    """From the samples at address; NaN where arm or shaft was not seen."""
    share = UPPER_ARM_SHARE
    shaft = np.radians(columns["shaft_deg"])
    sin, cos = np.sin(shaft), np.cos(shaft)
    wrist, middle, rel = {}, {}, {}
    for axis in ("along_px", "up_px"):
        wrist[axis] = columns[f"lead_wrist_{axis}"]
        middle[axis] = share * columns[f"lead_shoulder_{axis}"] + (1 - share) * columns[f"lead_elbow_{axis}"]
        rel[axis] = wrist[axis] - columns[f"putter_{axis}"]
    arm = math.hypot(*(_middle(wrist[a] - middle[a], address) for a in wrist))
    below = BELOW_WRIST_SHARE * arm
    turned = _middle(shaft, address)
    down = _middle(rel["along_px"] * sin - rel["up_px"] * cos, address) + below
    across = _middle(rel["along_px"] * cos + rel["up_px"] * sin, address)
    return Grip(down, across, below * math.sin(turned), -below * math.cos(turned))


def hinge_deg(signals: Signals, address: Mask) -> Floats:
    """Angle from lead arm to shaft at each sample, + when the putter head has passed the hands toward the target.

    Absolute value; only its change since address (a mask) means something. NaN where arm or shaft was not seen.
    """
    return np.asarray(_arm_to_shaft_deg(signals.columns, grip_at(signals.columns, address)))


def row_hinge_deg(row: Mapping[str, float], grip: Grip) -> float:
    """``hinge_deg`` of one sample's columns."""
    return float(_arm_to_shaft_deg(row, grip))


def _arm_to_shaft_deg(c: Mapping[str, Any], grip: Grip) -> Any:
    s, p = UPPER_ARM_SHARE, BY_PUTTER_SHARE
    shaft = np.radians(c["shaft_deg"])
    sin, cos = np.sin(shaft), np.cos(shaft)
    to_along = p * (c["putter_along_px"] + grip.down * sin + grip.across * cos)
    to_along = to_along + (1 - p) * (c["lead_wrist_along_px"] + grip.wrist_along)
    to_up = p * (c["putter_up_px"] - grip.down * cos + grip.across * sin)
    to_up = to_up + (1 - p) * (c["lead_wrist_up_px"] + grip.wrist_up)
    along = to_along - s * c["lead_shoulder_along_px"] - (1 - s) * c["lead_elbow_along_px"]
    up = to_up - s * c["lead_shoulder_up_px"] - (1 - s) * c["lead_elbow_up_px"]
    return np.degrees(np.arctan2(-along * cos - up * sin, along * sin - up * cos))
