"""From the raw signals of a stroke to its record: pure, so that the same signals always give the same record."""

from __future__ import annotations

from typing import Mapping

import numpy as np

from trainer.domain.record import EventName, Kind, Signals, StrokeRecord
from trainer.stroke import ball_departure
from trainer.stroke import thresholds as th
from trainer.stroke.events import refine
from trainer.stroke.measures import Stretch, measures_of
from trainer.stroke.signals import rough_cm_per_px

BALL_NEAR_CM = (9.0, 5.0)  # the ball lies within this of the putter head at address, along and up in the picture
BALL_MOVED_CM = 2.5


def build_record(
    signals: Signals, rough: Mapping[EventName, float], look_deg: float = th.LOOK_DEG
) -> StrokeRecord | None:
    """The record of the stroke in these signals. rough: the live tracker's event times, up to impact at least."""
    if any(n not in rough for n in ("takeaway_s", "top_s", "impact_s")):
        return None
    events, path, back = refine(signals, rough, look_deg)
    stretch = Stretch(signals, path, events, back)
    meta = {"track": path.source if path is not None else "none", "look_deg": repr(look_deg)}
    measures = measures_of(stretch)
    later = measures[ball_departure.NAME]
    if later.value is not None and later.reason:
        meta["impact"] = later.reason
    return StrokeRecord(kind_of(signals, events, rough), events, measures, signals, signals.view, meta)


def kind_of(signals: Signals, events: Mapping[EventName, float | None], rough: Mapping[EventName, float]) -> Kind:
    """A ball stroke had a ball by the putter head at address that no longer lies there afterwards."""
    t = signals.time_s
    take = events["takeaway_s"] or rough["takeaway_s"]
    impact = events["impact_s"] or rough["impact_s"]
    scale = rough_cm_per_px(signals)
    along, up = signals["ball_along_px"], signals["ball_up_px"]
    before = (t < take) & (t > take - 1.0)
    seen = before & np.isfinite(along)
    if before.sum() == 0 or seen.sum() < 0.4 * before.sum():
        return "rehearsal"
    x, y = np.median(along[seen]), np.median(up[seen])
    px, py = signals["putter_along_px"][before], signals["putter_up_px"][before]
    if np.isfinite(px).any() and signals.view == "face-on":
        near = (
            abs(x - np.nanmedian(px)) * scale < BALL_NEAR_CM[0] and abs(y - np.nanmedian(py)) * scale < BALL_NEAR_CM[1]
        )
        if not near:
            return "rehearsal"
    after = (t > impact + 0.2) & (t < impact + 1.2)
    if not after.any():
        after = t > impact
    there = np.hypot(along - x, up - y) * scale < BALL_MOVED_CM
    share = float((there & after).sum() / max(after.sum(), 1))
    return "ball" if share < 0.35 else "rehearsal"
