"""Angles of arm and shaft in the picture. Axes: along + toward the target, up + up; degrees."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Floats, Signals

# The pose model's elbow is its worst point of the arm (up to 7 deg of false forearm turn on rendered truth); in a putt the
# elbow's bend hardly changes, so the arm's direction is taken from the middle of the upper arm to the wrist: error of the
# change within 3.0 deg (SD 1.6) where elbow to wrist alone gave 6.7 (SD 2.6).
UPPER_ARM_SHARE = 0.5


def signed_angle_deg(a_along: Floats, a_up: Floats, b_along: Floats, b_up: Floats) -> Floats:
    """Angle from direction a to direction b, + counter-clockwise with along to the right and up upward."""
    return np.asarray(np.degrees(np.arctan2(a_along * b_up - a_up * b_along, a_along * b_along + a_up * b_up)))


def hinge_deg(signals: Signals) -> Floats:
    """Angle from lead wrist angle change at each sample, + when the putter head has passed the hands toward the target.

    Absolute value; only its change since address means something. NaN where arm or shaft was not seen.
    """
    share = UPPER_ARM_SHARE
    from_along = share * signals["lead_shoulder_along_px"] + (1 - share) * signals["lead_elbow_along_px"]
    from_up = share * signals["lead_shoulder_up_px"] + (1 - share) * signals["lead_elbow_up_px"]
    shaft = np.radians(signals["shaft_deg"])
    return signed_angle_deg(
        signals["lead_wrist_along_px"] - from_along,
        signals["lead_wrist_up_px"] - from_up,
        np.sin(shaft),
        -np.cos(shaft),
    )
