"""Posture kept: how spine, head, knees and pelvis change from address until the look. A pure function of signals.

The spine's tilt is an angle in the picture down-the-line only. Face-on it could only be guessed from how long the trunk
looks, and that changes by as much when the shoulders rock in a good stroke (7 deg of false change on rendered truth): there it
is not seen, and head height and pelvis tell instead.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Floats, Measure, Signals
from trainer.domain.verdict import Fault
from trainer.stroke.filters import smooth
from trainer.texts import tr

Flags = npt.NDArray[np.bool_]

CUTOFF_HZ = 4.0  # posture changes slowly; the pose model's frame noise does not
ADDRESS_S = 0.5  # stretch before the takeaway that is the address
LIMIT_DEG = 4.0
DOUBT_DEG = 1.0  # rendered strokes without any change measure up to 1.6 deg
NAMES = ("spine_change_deg", "head_height_change_cm", "knee_change_deg", "pelvis_drift_cm")


def kept(signals: Signals, takeaway_s: float, until_s: float) -> dict[str, Measure]:
    """The largest change of each from the address, takeaway_s to until_s (the look, else the settle or the end).

    spine_change_deg: + straightening; head_height_change_cm: + rising; knee_change_deg: + straightening;
    pelvis_drift_cm: + toward the target (face-on) or away from the ball (down-the-line).
    """
    before = (signals.time_s >= takeaway_s - ADDRESS_S) & (signals.time_s <= takeaway_s)
    during = (signals.time_s >= takeaway_s) & (signals.time_s <= until_s)
    side = signals.view == "down-the-line"
    cm = _cm_per_px(signals)
    hips_out = _middle(signals, "hip", "across" if side else "along")
    return {
        "spine_change_deg": Spine(signals, takeaway_s).measure(until_s)
        if side
        else Measure(None, "deg", 0.0, tr("the spine's tilt is seen down-the-line only")),
        "head_height_change_cm": _head(signals, before, during, cm),
        "knee_change_deg": _change(
            signals, -_knee_flex_deg(signals), before, during, "deg", 0.8 if side else 0.4, tr("legs not seen")
        ),
        "pelvis_drift_cm": _change(
            signals, (-hips_out if side else hips_out) * cm, before, during, "cm", 0.8, tr("hips or scale not known")
        ),
    }


def posture_change(signals: Signals, takeaway_s: float, until_s: float, limit_deg: float = LIMIT_DEG) -> Fault | None:
    """The fault, when the spine changes by more than the limit and the doubt before the look; at the time it does."""
    return Spine(signals, takeaway_s).fault(until_s, limit_deg)


class Spine:
    """The spine's change from the address through one stroke, worked out once. Down-the-line only."""

    def __init__(self, signals: Signals, takeaway_s: float) -> None:
        self._time_s, self._takeaway_s = signals.time_s, takeaway_s
        values = -_spine_deg(signals)
        self._seen = np.isfinite(values)
        self._smoothed = smooth(signals.time_s, values, CUTOFF_HZ)
        self._before = (signals.time_s >= takeaway_s - ADDRESS_S) & (signals.time_s <= takeaway_s)
        base = self._smoothed[self._before & np.isfinite(self._smoothed)]
        self.change_deg: Floats = self._smoothed - (float(np.median(base)) if len(base) else math.nan)

    def measure(self, until_s: float) -> Measure:
        """The change of largest size from the takeaway until then."""
        during = (self._time_s >= self._takeaway_s) & (self._time_s <= until_s)
        return _largest(self._smoothed, self._seen, self._before, during, "deg", 0.9, tr("trunk not seen"))

    def fault(self, until_s: float, limit_deg: float, least_confidence: float = 0.0) -> Fault | None:
        """When it is more than the limit and the doubt, and surely seen; at the time it first is."""
        measure = self.measure(until_s)
        if measure.value is None or measure.confidence < least_confidence:
            return None
        if abs(measure.value) <= limit_deg + DOUBT_DEG:
            return None
        during = (self._time_s >= self._takeaway_s) & (self._time_s <= until_s)
        past = during & (np.abs(self.change_deg) > limit_deg + DOUBT_DEG)
        at = float(self._time_s[np.flatnonzero(past)[0]]) if past.any() else until_s
        return Fault("posture_change", at, float(measure.value), "deg", limit_deg)


def spine_change_deg(signals: Signals, takeaway_s: float) -> Floats:
    """Change of the spine's tilt since address at each sample, + straightening; down-the-line only, else NaN.

    Its largest until the look is what ``kept`` gives.
    """
    if signals.view != "down-the-line":
        return np.full(len(signals.time_s), np.nan)
    return Spine(signals, takeaway_s).change_deg


def _column(signals: Signals, point: str, axis: str) -> Floats:
    """axis: up, or along or across (+ toward the ball), whichever the view sees."""
    column = signals[f"{point}_{axis}_px"]
    return column * _toward_ball(signals) if axis == "across" else column


def _toward_ball(signals: Signals) -> float:
    """+1 when across grows from the feet to the hands, as it should; -1 when the camera looks from the target's side."""
    hands = signals["hands_across_px"]
    feet = (signals["lead_ankle_across_px"] + signals["trail_ankle_across_px"]) / 2
    hips = (signals["lead_hip_across_px"] + signals["trail_hip_across_px"]) / 2
    gap = hands - np.where(np.isfinite(feet), feet, hips)
    seen = gap[np.isfinite(gap)]
    return -1.0 if len(seen) and float(np.median(seen)) < 0 else 1.0


def _middle(signals: Signals, part: str, axis: str) -> Floats:
    """Mean of lead and trail; down-the-line of the near side alone where the far one is not seen."""
    if axis == "across":
        return _unsigned_middle(signals, part, axis) * _toward_ball(signals)
    return _unsigned_middle(signals, part, axis)


def _unsigned_middle(signals: Signals, part: str, axis: str) -> Floats:
    """The same without the sign of across, which takes a while to find."""
    lead, trail = (signals[f"{side}_{part}_{axis}_px"] for side in ("lead", "trail"))
    if signals.view == "down-the-line" and np.isfinite(lead).mean() < 0.9:
        return trail
    return (lead + trail) / 2


def _spine_deg(signals: Signals) -> Floats:
    """Tilt of the spine from upright at each sample, down-the-line; its change is what counts."""
    up = _middle(signals, "shoulder", "up") - _middle(signals, "hip", "up")
    out = _unsigned_middle(signals, "shoulder", "across") - _unsigned_middle(signals, "hip", "across")
    return np.asarray(np.degrees(np.arctan2(out * _toward_ball(signals), up)))


def _knee_flex_deg(signals: Signals) -> Floats:
    """180 less the angle at the trail knee, in the picture."""
    side = "across" if signals.view == "down-the-line" else "along"
    at = {
        p: (_column(signals, f"trail_{p}", side), _column(signals, f"trail_{p}", "up"))
        for p in ("hip", "knee", "ankle")
    }
    a = np.arctan2(at["hip"][1] - at["knee"][1], at["hip"][0] - at["knee"][0])
    b = np.arctan2(at["ankle"][1] - at["knee"][1], at["ankle"][0] - at["knee"][0])
    between = np.abs((np.degrees(a - b) + 180.0) % 360.0 - 180.0)
    return np.asarray(180.0 - between)


def _head(signals: Signals, before: Flags, during: Flags, cm: float) -> Measure:
    if signals.view == "down-the-line":
        return Measure(None, "cm", 0.0, tr("the head is followed face-on only"))
    return _change(signals, signals["head_up_px"] * cm, before, during, "cm", 0.9, tr("head or scale not known"))


def _cm_per_px(signals: Signals) -> float:
    """Median of the body's scale; NaN without one."""
    column = signals["body_cm_per_px"]
    seen = column[np.isfinite(column)]
    return float(np.median(seen)) if len(seen) else math.nan


def _change(
    signals: Signals, values: Floats, before: Flags, during: Flags, unit: str, sure: float, reason: str
) -> Measure:
    """The change of largest size while ``during``, from the median while ``before``."""
    seen = np.isfinite(values)
    if (seen & before).sum() < 3 or (seen & during).sum() < 3:
        return Measure(None, unit, 0.0, reason)
    return _largest(smooth(signals.time_s, values, CUTOFF_HZ), seen, before, during, unit, sure, reason)


def _largest(
    smoothed: Floats, seen: Flags, before: Flags, during: Flags, unit: str, sure: float, reason: str
) -> Measure:
    if (seen & before).sum() < 3 or (seen & during).sum() < 3:
        return Measure(None, unit, 0.0, reason)
    change = smoothed[during & np.isfinite(smoothed)] - float(np.median(smoothed[before & np.isfinite(smoothed)]))
    if not len(change):
        return Measure(None, unit, 0.0, reason)
    share = float((seen & during).sum() / max(1, during.sum()))
    return Measure(float(change[np.argmax(np.abs(change))]), unit, sure * share)
