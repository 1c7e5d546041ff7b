"""How the putter's speed grows and goes: at the start of the backstroke, and just before the ball."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Events, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import slope, smooth
from trainer.stroke.signals import cm_per_px

# Of invented strokes seen with an error of 0.2 cm at 30 frames/s: none lost reads 0.04 +- 0.02, 0.1 reads 0.09 +- 0.03, 0.3
# reads 0.23 +- 0.03. A higher cut-off rounds the peak less and shakes more.
PUTTER_HZ = 6.0
START_S = 0.20  # from takeaway on
SEEN_SHARE = 0.6  # of the samples of a stretch that must show the putter head


def pace(signals: Signals, events: Events) -> dict[str, Measure]:
    """takeaway_cm_s: mean speed over the first START_S; slowing_share: of its fastest forward speed, lost at impact."""
    reason = "" if signals.view == "face-on" else "lengths along the line are measured face-on only"
    scale = cm_per_px(signals, "ball") or cm_per_px(signals, "body")
    reason = reason or ("" if scale else "no size reference: neither ball nor height known")
    if reason or scale is None:
        return {n: Measure(None, u, 0.0, reason) for n, u in (("takeaway_cm_s", "cm/s"), ("slowing_share", "1"))}
    return {"takeaway_cm_s": _start(signals, events, scale), "slowing_share": _slowing(signals, events)}


def _start(signals: Signals, events: Events, scale: float) -> Measure:
    take, top = events.takeaway_s, events.top_s
    if take is None or top is None or top - take < START_S:
        return Measure(None, "cm/s", 0.0, "takeaway or top not seen")
    t = signals.time_s
    x = smooth(t, signals["putter_along_px"], PUTTER_HZ) * scale
    at = (t >= take - th.ADDRESS_S[0]) & (t <= take - th.ADDRESS_S[1]) & np.isfinite(x)
    sure = _seen(signals, take - th.ADDRESS_S[1], take + START_S)
    if not at.any() or sure == 0.0:
        return Measure(None, "cm/s", 0.0, "putter not seen as the backstroke began")
    seen = np.isfinite(x)
    gone_cm = float(np.median(x[at])) - float(np.interp(take + START_S, t[seen], x[seen]))
    return Measure(gone_cm / START_S, "cm/s", sure)


def _slowing(signals: Signals, events: Events) -> Measure:
    top, impact = events.top_s, events.impact_s
    if top is None or impact is None:
        return Measure(None, "1", 0.0, "top or impact not seen")
    sure = _seen(signals, top, impact)
    t = signals.time_s
    speed = slope(t, smooth(t, signals["putter_along_px"], PUTTER_HZ))
    seen = np.isfinite(speed)
    during = speed[seen & (t >= top) & (t <= impact)]
    if sure == 0.0 or during.size < 3:
        return Measure(None, "1", 0.0, "putter not seen on the way to the ball")
    at_impact = float(np.interp(impact, t[seen], speed[seen]))
    fastest = max(float(during.max()), at_impact)
    if fastest <= 0.0:
        return Measure(None, "1", 0.0, "putter not seen on the way to the ball")
    return Measure(1.0 - at_impact / fastest, "1", sure)


def _seen(signals: Signals, first_s: float, last_s: float) -> float:
    """How surely the putter was seen in that stretch; 0: not well enough."""
    use = (signals.time_s >= first_s) & (signals.time_s <= last_s)
    if not use.any() or np.isfinite(signals["putter_along_px"][use]).mean() < SEEN_SHARE:
        return 0.0
    return float(np.nan_to_num(signals["putter_conf"][use]).mean())
