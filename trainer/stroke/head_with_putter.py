"""How far the head goes along with the putter: the direction of its travel, which absolute sway does not tell."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Events, Floats, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import smooth
from trainer.stroke.signals import cm_per_px, head_px

HEAD_HZ = 6.0


def head_with_putter(signals: Signals, events: Events) -> Measure:
    """The head's travel along the line in the putter's direction (cm), the larger of back and through; - against it.

    Back: away from the target from takeaway to top. Through: toward it from top until the putter rests, or the look, which
    carries the head along. Experts move the head about as much as others, but against the putter, others with it: Lee,
    Ishikura, Kegel, Gonzalez and Passmore 2008, J. Mot. Behav. 40(4), 267-272.
    """
    if signals.view != "face-on":
        return Measure(None, "cm", 0.0, "measured face-on only")
    take, top, settle, look = events.takeaway_s, events.top_s, events.settle_s, events.look_s
    if take is None or top is None:
        return Measure(None, "cm", 0.0, "takeaway or top not seen")
    scale = cm_per_px(signals, "body")
    if scale is None:
        return Measure(None, "cm", 0.0, "no size reference: neither ball nor height known")
    t = signals.time_s
    last = min(when for when in (settle, look, float(t[-1])) if when is not None)
    if last < top:
        return Measure(None, "cm", 0.0, "the look came before the top")
    place = smooth(t, head_px(signals, "along"), HEAD_HZ) * scale
    start = _middle(place[(t >= take - th.ADDRESS_S[0]) & (t <= take - th.ADDRESS_S[1])])
    seen = np.isfinite(place)
    at_top = float(np.interp(top, t[seen], place[seen])) if seen.any() else np.nan
    back = -_farthest(place[seen & (t >= take) & (t <= top)] - start)
    through = _farthest(place[seen & (t >= top) & (t <= last)] - at_top)
    during = (t >= take) & (t <= last)
    if not np.isfinite(back) or not np.isfinite(through):
        return Measure(None, "cm", 0.0, "the head was not seen")
    return Measure(max(back, through), "cm", float(np.nan_to_num(signals["head_turn_conf"][during]).mean()))


def _middle(places: Floats) -> float:
    places = places[np.isfinite(places)]
    return float(np.median(places)) if places.size else np.nan


def _farthest(moved: Floats) -> float:
    """The largest of them, with its sign; NaN of none."""
    return float(moved[np.argmax(np.abs(moved))]) if moved.size and np.isfinite(moved).all() else np.nan
