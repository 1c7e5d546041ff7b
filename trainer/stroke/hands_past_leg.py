"""The hands at the putter head's finish: beyond the lead ankle, and against how far they had gone back."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Events, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.signals import cm_per_px

AROUND_S = 0.06  # the middle of what was seen this long before and after: one noisy frame does not matter


def hands_past_leg(signals: Signals, events: Events) -> Measure:
    """Hands less lead ankle along the line (cm, + toward the target) at the finish. Scale: the body's own plane.

    It grows with the stroke and with a narrow stance: of ordinary strokes 25 to 30 cm back it is -5 to -8, and 0 only from
    some 45 cm back on. So it describes, and is no goal; that is ``hands_carry``.
    """
    missing = _missing(signals, events)
    if missing or events.finish_s is None:
        return Measure(None, "cm", 0.0, missing)
    # The foot stays where it is: its place over the whole stroke is surer than in one frame.
    ankle = signals["lead_ankle_along_px"]
    gap, seen = _hands(signals, events.finish_s - AROUND_S, events.finish_s + AROUND_S)
    if gap is None or not np.isfinite(ankle).any():
        return Measure(None, "cm", 0.0, "hands or lead leg not seen at the finish")
    seen *= min(1.0, 2 * float(np.isfinite(ankle).mean()))
    return Measure((gap - float(np.nanmedian(ankle))) * _scale(signals), "cm", seen)


def hands_carry(signals: Signals, events: Events) -> Measure:
    """How much farther the hands go through, address to finish, than they went back, address to top (cm).

    Hands that carry on go as far as they went back or farther, whatever stance and stroke (rendered strokes 23 to 55 cm back:
    +1.3 to +1.6, measured +1.1 to +2.5); hands that stop do not (-5.7 and -6.6, measured -3.6 and -4.0).
    """
    missing = _missing(signals, events)
    take, top, finish = events.takeaway_s, events.top_s, events.finish_s
    if missing or take is None or top is None or finish is None:
        return Measure(None, "cm", 0.0, missing or "takeaway or top not seen")
    places = [
        _hands(signals, first, last)
        for first, last in (
            (take - th.ADDRESS_S[0], take - th.ADDRESS_S[1]),
            (top - AROUND_S, top + AROUND_S),
            (finish - AROUND_S, finish + AROUND_S),
        )
    ]
    (start, _), (back, _), (through, _) = places
    if start is None or back is None or through is None:
        return Measure(None, "cm", 0.0, "hands not seen at address, top or finish")
    return Measure((back + through - 2 * start) * _scale(signals), "cm", min(seen for _, seen in places))


def _missing(signals: Signals, events: Events) -> str:
    if signals.view != "face-on":
        return "lengths along the line are measured face-on only"
    if events.finish_s is None:
        return "finish not seen"
    return "" if _scale(signals) else "no size reference: neither ball nor height known"


def _scale(signals: Signals) -> float:
    """cm per px at the hands; 0 where it is not known."""
    return cm_per_px(signals, "body") or cm_per_px(signals, "ball") or 0.0


def _hands(signals: Signals, first_s: float, last_s: float) -> tuple[float | None, float]:
    """(place along the line in px, None: not seen, and how surely) of the hands in that stretch."""
    near = (signals.time_s >= first_s) & (signals.time_s <= last_s)
    place = signals["hands_along_px"][near]
    place = place[np.isfinite(place)]
    if not place.size:
        return None, 0.0
    return float(np.median(place)), float(np.nan_to_num(signals["hands_conf"][near]).mean())
