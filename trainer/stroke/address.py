"""The address before a stroke as the stroke's own signals show it: how wide, where the ball lies, how long it was still.

Rough beside what one picture taken apart in space tells (``coaching.posture``), but there with every stroke. The ball's place
between the feet hangs on where the camera stands (off by 0.04 on rendered clips) and hardly changes while it stays there
(0.008): it is for comparing strokes under one camera, not for a range.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Events, Floats, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import smooth
from trainer.stroke.signals import cm_per_px

ANKLES_BEHIND = (
    1.11  # the ankles' plane against the body's scale reference, whose plane is the head's (rendered clips, +- 0.02)
)
STILL_CM = th.STILL_CM  # from where the putter lay: less is what a found place wanders
STILL_HZ = 4.0
MOST_STILL_S = th.KEPT_BEFORE_S - 0.1  # a record knows no more
Mask = npt.NDArray[np.bool_]


def address(signals: Signals, events: Events) -> dict[str, Measure]:
    """address_stance_cm, address_ball_share (0 trail ankle, 1 lead ankle) and still_before_s."""
    take = events.takeaway_s
    if take is None or signals.view != "face-on":
        reason = "takeaway not seen" if take is None else "measured face-on only"
        units = (("address_stance_cm", "cm"), ("address_ball_share", "1"), ("still_before_s", "s"))
        return {name: Measure(None, unit, 0.0, reason) for name, unit in units}
    t = signals.time_s
    at = (t >= take - th.ADDRESS_S[0]) & (t <= take - th.ADDRESS_S[1])
    lead, trail, ball = (_place(signals[f"{n}_along_px"], at) for n in ("lead_ankle", "trail_ankle", "ball"))
    scale, wide = cm_per_px(signals, "body"), lead - trail
    out = {"still_before_s": _still(signals, take)}
    if not np.isfinite(wide):
        out["address_stance_cm"] = Measure(None, "cm", 0.0, "feet not seen")
    elif scale is None:
        out["address_stance_cm"] = Measure(None, "cm", 0.0, "no size reference: neither ball nor height known")
    else:
        out["address_stance_cm"] = Measure(wide * scale * ANKLES_BEHIND, "cm", 0.8)
    if np.isfinite(wide) and np.isfinite(ball) and wide > 0:
        out["address_ball_share"] = Measure((ball - trail) / wide, "1", 0.8)
    else:
        out["address_ball_share"] = Measure(None, "1", 0.0, "ball or feet not seen")
    return out


def _place(column: Floats, at: Mask) -> float:
    seen = column[at & np.isfinite(column)]
    return float(np.median(seen)) if seen.size else np.nan


def _still(signals: Signals, take: float) -> Measure:
    """How long the putter head had lain within STILL_CM before takeaway; MOST_STILL_S: that long or longer."""
    scale = cm_per_px(signals, "ball") or cm_per_px(signals, "body")
    if scale is None:
        return Measure(None, "s", 0.0, "no size reference: neither ball nor height known")
    t = signals.time_s
    x = smooth(t, signals["putter_along_px"], STILL_HZ) * scale
    before = (t <= take - th.ADDRESS_S[1]) & (t >= take - MOST_STILL_S) & np.isfinite(x)
    near = before & (t >= take - 2.5 * th.ADDRESS_S[1])
    if not near.any() or before.sum() < 3:
        return Measure(None, "s", 0.0, "putter not seen at address")
    moving = np.flatnonzero(before & (np.abs(x - np.median(x[near])) > STILL_CM))
    since = t[moving[-1]] if moving.size else float(t[before][0])
    sure = float(np.nan_to_num(signals["putter_conf"][before]).mean())
    return Measure(float(min(take - since, MOST_STILL_S)), "s", sure)
