"""Which small, slow motions past the address place are strokes, and which are waggles, a new grip or hands that sway.

A ball that left tells; so does a putter in full swing. What is left - no ball gone, and never faster than a tap-in -
counts only if it begins from a real rest, ends at one in front, and the hands stay on the grip. Limits of ours, set between
invented minutes without a stroke (``simulate_idle``) and invented and rendered strokes; no source.
"""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Events, Floats, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import slope, smooth
from trainer.stroke.head_turn import turn_change
from trainer.stroke.path import path_of
from trainer.stroke.signals import rough_cm_per_px

# Forward speed, of the putter and of hands that stand in, under which a motion is no stroke, needs all the proof there is, and
# must at least not come back to the address place at once (cm/s). The smallest real stroke we know of moves the wrists at 7 cm/s
# and the putter head at 16.
LEAST_CM_S = {"putter": 14.0, "hands": 5.5}
SLOW_CM_S = {"putter": 50.0, "hands": 20.0}
BRISK_CM_S = {"putter": 100.0, "hands": 40.0}
RESTED_S = 0.6  # a real rest lasts this long; the one before the stroke ends REST_ENDS_S before takeaway
REST_ENDS_S = 0.1
RESTED_CM = {"putter": 1.1, "hands": 0.7}
OUTLIERS_FROM = 12  # samples
LEAST_WAY_CM = {"putter": 5.0, "hands": 2.2}  # back and through; the smallest real stroke: 7 and 3
SLOW_FORWARD_S = 0.95  # top to impact
HELD_SHARE = 0.35  # of the way through: come back nearer to the address place without a rest, it was a waggle
HAND_OFF_CM = {"slow": 4.0, "any": 12.0}  # the wrists' distance grows by this
LONGEST_FOLLOW_S = 1.3  # impact to settle
TURNS_DEG = 15.0  # a head that turns by more before impact is busy with something else
WALKED_CM = 6.0  # hips moved by more, and by CARRIED_SHARE of the putter's way
PLACE_HZ = 8.0


def still_for(time_s: Floats, place_cm: Floats, start_s: float, end_s: float, source: str) -> bool:
    """Whether the places between these times are those of a rest, one outlier at each end let pass."""
    seen = np.sort(place_cm[(time_s >= start_s) & (time_s <= end_s) & np.isfinite(place_cm)])
    if len(seen) < 3:
        return False
    return bool((seen[-2] - seen[1] if len(seen) > OUTLIERS_FROM else seen[-1] - seen[0]) < RESTED_CM[source])


def rested(time_s: Floats, place_cm: Floats, takeaway_s: float, source: str) -> bool:
    """Whether the stroke begins from a rest; what lies before the first sample is taken for one."""
    return still_for(time_s, place_cm, takeaway_s - REST_ENDS_S - RESTED_S, takeaway_s - REST_ENDS_S, source)


def plain_stroke(signals: Signals, events: Events) -> bool:
    """Whether these signals, with no ball gone, show a stroke: a rehearsal, or one whose ball was not seen."""
    take, top, impact, settle = events.takeaway_s, events.top_s, events.impact_s, events.settle_s
    if signals.view != "face-on":
        return True
    path = path_of(signals, take) if take is not None else None
    if path is None or take is None or top is None or impact is None:
        return False
    t, x = path.time_s, smooth(path.time_s, path.raw_cm, PLACE_HZ)
    until = settle if settle is not None else float(t[-1])
    during = (t >= take) & (t <= until) & np.isfinite(x)
    speed = slope(t, x)[(t >= top) & (t <= until)]
    if not during.any() or not np.isfinite(speed).any():
        return True
    fastest = float(np.nanmax(speed))
    hand_off = _hand_off_cm(signals, take, impact)
    if hand_off > HAND_OFF_CM["any"] or _walks(signals, take, until, float(np.ptp(x[during]))):
        return False
    after = x[during & (t >= impact)]
    comes_back = len(after) > 0 and bool(after[int(np.argmax(after)) :].min() < HELD_SHARE * after.max())
    runs_on = settle is None or settle - impact > LONGEST_FOLLOW_S
    if fastest < BRISK_CM_S[path.source] and (comes_back or runs_on or _turns(signals, take, impact)):
        return False
    if fastest >= SLOW_CM_S[path.source]:
        return True
    if impact - top > SLOW_FORWARD_S or float(np.ptp(x[during])) < LEAST_WAY_CM[path.source]:
        return False
    rests = settle is not None and still_for(t, path.raw_cm, settle, settle + RESTED_S, path.source)
    return rests and rested(t, path.raw_cm, take, path.source) and hand_off < HAND_OFF_CM["slow"]


def _hand_off_cm(signals: Signals, takeaway_s: float, impact_s: float) -> float:
    """How much farther apart the wrists are between takeaway and impact than at address; 0 where it cannot be told."""
    t = signals.time_s
    apart = 2 * np.hypot(
        signals["lead_wrist_along_px"] - signals["hands_along_px"], signals["lead_wrist_up_px"] - signals["hands_up_px"]
    )
    before = (t > takeaway_s - th.ADDRESS_S[0]) & (t < takeaway_s) & np.isfinite(apart)
    during = (t >= takeaway_s) & (t <= impact_s) & np.isfinite(apart)
    if not before.any() or not during.any():
        return 0.0
    return float(np.percentile(apart[during], 80) - np.median(apart[before])) * rough_cm_per_px(signals)


def _turns(signals: Signals, takeaway_s: float, impact_s: float) -> bool:
    """Whether the head turns between takeaway and impact."""
    turn = turn_change(signals, takeaway_s)[(signals.time_s >= takeaway_s) & (signals.time_s <= impact_s)]
    return bool(np.isfinite(turn).any() and np.nanmax(np.abs(turn)) > TURNS_DEG)


def _walks(signals: Signals, takeaway_s: float, until_s: float, way_cm: float) -> bool:
    """Whether the hips go along with the putter, so that the player walks."""
    t = signals.time_s
    hips = (signals["lead_hip_along_px"] + signals["trail_hip_along_px"]) / 2 * rough_cm_per_px(signals)
    seen = (t >= takeaway_s) & (t <= until_s) & np.isfinite(hips)
    if not seen.any():
        return False
    return float(np.ptp(hips[seen])) > max(WALKED_CM, th.CARRIED_SHARE * way_cm)
