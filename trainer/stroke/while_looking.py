"""Whether putter and posture stay as they are while the head turns to look: the second half of a hold."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Events, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import smooth
from trainer.stroke.signals import cm_per_px

LOOKING_S = 0.5  # from the look on: a record goes on for a little longer
BEFORE_S = 0.2  # what the putter's place was
PLACE_HZ = 6.0
SHOULDERS_HZ = 3.0  # nobody stands up faster; the pose model errs alike for a few frames, and the furthest counts
NAMES = ("putter_while_looking_cm", "body_while_looking_cm")
Mask = npt.NDArray[np.bool_]


def while_looking(signals: Signals, events: Events) -> dict[str, Measure]:
    """How far the putter head goes from where it lay, and how far the shoulders have come up since address.

    Only of a look after rest: one before has no hold to go on with.
    """
    settle, look, take = events.settle_s, events.look_s, events.takeaway_s
    t = signals.time_s
    if signals.view != "face-on":
        return _none("measured face-on only")
    if take is None or look is None or settle is None or look < settle:
        return _none("no look after the putter's rest")
    during = (t >= look) & (t <= look + LOOKING_S)
    if t[-1] < look + 0.8 * LOOKING_S:
        return _none("too little was seen of the look")
    return {
        "putter_while_looking_cm": _putter(signals, (t > max(look - BEFORE_S, settle - 1e-9)) & (t <= look), during),
        "body_while_looking_cm": _shoulders(signals, take, during),
    }


def _none(reason: str) -> dict[str, Measure]:
    return {name: Measure(None, "cm", 0.0, reason) for name in NAMES}


def _putter(signals: Signals, before: Mask, during: Mask) -> Measure:
    scale = cm_per_px(signals, "ball") or cm_per_px(signals, "body")
    if scale is None:
        return Measure(None, "cm", 0.0, "no size reference: neither ball nor height known")
    x = smooth(signals.time_s, signals["putter_along_px"], PLACE_HZ) * scale
    lay, moved = x[before & np.isfinite(x)], x[during & np.isfinite(x)]
    if not lay.size or moved.size < 3:
        return Measure(None, "cm", 0.0, "putter not seen while looking")
    sure = float(np.nan_to_num(signals["putter_conf"][during]).mean())
    return Measure(float(np.abs(moved - np.median(lay)).max()), "cm", sure)


def _shoulders(signals: Signals, take: float, during: Mask) -> Measure:
    scale = cm_per_px(signals, "body")
    if scale is None:
        return Measure(None, "cm", 0.0, "no size reference: neither ball nor height known")
    t = signals.time_s
    up = (signals["lead_shoulder_up_px"] + signals["trail_shoulder_up_px"]) / 2
    up = smooth(t, up, SHOULDERS_HZ) * scale
    at = (t >= take - th.ADDRESS_S[0]) & (t <= take - th.ADDRESS_S[1]) & np.isfinite(up)
    risen = up[during & np.isfinite(up)]
    if not at.any() or risen.size < 3:
        return Measure(None, "cm", 0.0, "shoulders not seen while looking")
    sure = float(np.isfinite(up[during]).mean())
    return Measure(float(risen.max() - np.median(up[at])), "cm", 0.9 * sure)
