"""The numbers of one stroke, each with unit and confidence; not seen is None with a reason."""

from __future__ import annotations

import numpy as np

from trainer.domain.measures import MEASURES
from trainer.domain.record import EventName, Floats, Measure
from trainer.stroke import ball_departure
from trainer.stroke import thresholds as th
from trainer.stroke.address import address
from trainer.stroke.events import SPEED_HZ
from trainer.stroke.filters import slope, smooth
from trainer.stroke.hands_past_leg import hands_carry, hands_past_leg
from trainer.stroke.head_turn import HeadTurn, seen_until, told_confidence
from trainer.stroke.head_with_putter import head_with_putter
from trainer.stroke.pace import pace
from trainer.stroke.putter_plane import behind_ball
from trainer.stroke.segment_contributions import head_putter_correlation, shares
from trainer.stroke.sight import gap_certainty, sight
from trainer.stroke.signals import cm_per_px, head_px
from trainer.stroke.stretch import Stretch, unseen
from trainer.stroke.uncertainty import deviations, sure
from trainer.stroke.while_looking import while_looking
from trainer.stroke.wrists import after_impact, in_the_backstroke

HANDS_HZ = 6.0
PLAIN_SIGHT = 0.5  # mean confidence of putter or hands from which their times are sure
MEASURED_SIGHT = 0.5  # a putter less certain has its length by the legs', not seen: six tenths of it in a dark room
# A recoil that goes on behind the address place by more is none: the putter was lost, or is taken back again.
BEHIND_CM = 2.0
HANDS_STOP = (0.30, 0.60)  # hands under this share of their impact speed, the putter head over that share of its own


def measures_of(s: Stretch) -> dict[str, Measure]:
    """All measures by name."""
    out: dict[str, Measure] = {}
    out.update(_times(s))
    out.update(_lengths(s))
    out.update(_speeds(s))
    out.update(_head(s))
    out["rest_sight"] = Measure(s.rest_sight, "1", 1.0)
    out["hinge_change_deg"] = after_impact(s)
    out["hinge_back_deg"] = in_the_backstroke(s)
    out.update(pace(s.signals, s.events))
    out.update(while_looking(s.signals, s.events))
    out.update(address(s.signals, s.events))
    out["head_with_putter_cm"] = head_with_putter(s.signals, s.events)
    out["hands_past_leg_cm"] = hands_past_leg(s.signals, s.events)
    out["hands_carry_cm"] = hands_carry(s.signals, s.events)
    out.update(shares(s.signals, s.events))
    out[ball_departure.NAME] = ball_departure.impact_ball_later(s.signals, s.events)
    out["head_putter_correlation"] = head_putter_correlation(s.signals, s.events)
    return out if s.shown is None else sure(out, deviations(s.shown, s.signals, s.events, out))


def _timing_conf(s: Stretch, first: EventName = "takeaway_s", last: EventName = "impact_s") -> float:
    """How surely the times from one event to another are known: less by what was not seen, none beyond a long gap."""
    use = s.between(s.events.named(first), s.events.named(last))
    if s.path is None or not use.any():
        return 0.0
    k = np.flatnonzero(use & s.path.seen)
    if not len(k):
        return 0.0
    times = s.t[np.r_[max(k[0] - 1, 0), k, min(k[-1] + 1, len(s.t) - 1)]]
    certain = gap_certainty(float(np.diff(times).max()))
    confidence = s.signals[f"{s.path.source}_conf"][k]  # places that were hardly made out are no times
    certain *= min(1.0, float(np.nan_to_num(confidence).mean()) / PLAIN_SIGHT)
    return (0.9 if s.by_putter else 0.6) * float(s.path.seen[use].mean()) * certain


def _span(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None else b - a


def _rhythm(s: Stretch, conf: float) -> dict[str, Measure]:
    """Down the line the way is foreshortened, and the putter seems to stand for a third of the stroke's time about its top."""
    e = s.events
    if not s.face_on:
        why = "the top is made out face-on only"
        return {name: unseen(MEASURES[name].unit, why) for name in ("backstroke_s", "forward_s", "tempo_ratio")}
    back, forward = _span(e.takeaway_s, e.top_s), _span(e.top_s, e.impact_s)
    out = {
        "backstroke_s": Measure(back, "s", conf) if back is not None else unseen("s", "takeaway or top not seen"),
        "forward_s": Measure(forward, "s", conf) if forward is not None else unseen("s", "top or impact not seen"),
        "tempo_ratio": unseen("1", "takeaway, top or impact not seen"),
    }
    if e.takeaway_s is not None and e.top_s is not None and forward is not None and forward > 0.02:
        began_s = s.back.begins_s(e.takeaway_s) if s.back is not None else e.takeaway_s
        out["tempo_ratio"] = Measure((e.top_s - began_s) / forward, "1", conf)
    return out


def _times(s: Stretch) -> dict[str, Measure]:
    e = s.events
    conf = _timing_conf(s)
    out = _rhythm(s, conf)
    settle, look, impact = e.settle_s, e.look_s, e.impact_s
    head = s.mean_conf("head_turn_conf", s.between(s.take, look if look is not None else float(s.t[-1])))
    out["hold_s"] = unseen("s", "the putter did not come to rest" if settle is None else "no look seen")
    out["early_by_s"] = unseen("s", "no look before the putter had come to rest")
    if head == 0.0:
        out["hold_s"] = unseen("s", "the head was not seen")
        out["early_by_s"] = unseen("s", "the head was not seen")
    out["look_from_impact_s"] = unseen("s", "no look seen")
    if look is not None and impact is not None and head > 0.0:
        out["look_from_impact_s"] = Measure(look - impact, "s", min(conf, head))
    if head > 0.0 and look is not None and settle is not None:
        sure = min(conf, head, s.rest_sight)
        if look >= settle:
            out["hold_s"] = Measure(look - settle, "s", sure)
        else:
            out["early_by_s"] = Measure(settle - look, "s", sure)
    return out


def _lengths(s: Stretch) -> dict[str, Measure]:
    names = ("back_cm", "through_cm", "recoil_cm")
    if not s.face_on:
        return {n: unseen("cm", "lengths along the line are measured face-on only") for n in names}
    if s.path is None or not s.by_putter:
        return {n: unseen("cm", "putter not seen") for n in names}
    scale = cm_per_px(s.signals, "ball") or cm_per_px(s.signals, "body")
    if scale is None:
        return {n: unseen("cm", "no size reference: neither ball nor height known") for n in names}
    e, k = s.events, scale / s.path.scale * (1 + behind_ball(s.signals, s.take))
    x = s.path.x_cm * k
    conf = s.mean_conf("putter_conf", s.between(e.takeaway_s, e.finish_s))
    conf *= min(1.0, conf / MEASURED_SIGHT) ** 2
    began = s.address & s.path.seen
    known = min(conf, s.mean_conf("putter_conf", began)) if began.any() else conf  # a way is as sure as where it began
    end = float(s.t[-1]) if e.finish_s is None else e.finish_s
    back, through = x[s.between(e.takeaway_s, e.impact_s)], x[s.between(e.impact_s, end + 0.05)]
    surely = min(known, sight(s.signals, e.impact_s, end))
    out = {
        "back_cm": Measure(float(-np.nanmin(back)), "cm", known) if back.size else unseen("cm", "top not seen"),
        "through_cm": Measure(float(np.nanmax(through)), "cm", surely)
        if through.size
        else unseen("cm", "finish not seen"),
    }
    out["recoil_cm"] = _recoil(s, smooth(s.t, s.path.raw_cm, SPEED_HZ) * k, end, conf)
    return out


def _recoil(s: Stretch, place_cm: Floats, end_s: float, conf: float) -> Measure:
    """How far the putter head comes back from its furthest point by then, beginning soon after its finish and before the look;
    whether it rests there or swings forth again is all one."""
    settle, look, impact = s.events.settle_s, s.events.look_s, s.events.impact_s
    first = impact if impact is not None else end_s  # the fitted finish may lie a little after the furthest point

    def back(until_s: float) -> float | None:
        seen = place_cm[s.between(first, until_s)]
        seen = seen[np.isfinite(seen)]
        return None if seen.size < 3 else float((np.maximum.accumulate(seen) - seen).max())

    soon_s = settle + th.MIN_HOLD_S if settle is not None else end_s + 1.0
    soon = back(soon_s)
    if soon is None:
        return unseen("cm", "finish not seen")
    if settle is not None and soon < th.RECOIL_BEGUN_CM and not s.lasts_until(soon_s):
        return unseen("cm", "it was ended too soon after the putter's rest")
    far, until_s = soon, soon_s
    if settle is not None and soon >= th.RECOIL_BEGUN_CM:
        until_s = settle + th.RECOIL_S if look is None else min(settle + th.RECOIL_S, max(look, soon_s))
        later = back(until_s) or soon
        if later - soon >= th.RECOIL_BEGUN_CM:  # less is a player who sways with the putter at rest
            far = later
    if far > float(np.nanmax(place_cm[s.between(first, until_s)])) + BEHIND_CM:
        return unseen("cm", "what was followed went back behind its address place")
    return Measure(far, "cm", min(conf, sight(s.signals, first, until_s)))


def _speeds(s: Stretch) -> dict[str, Measure]:
    names = ("hands_impact_cm_s", "hands_peak_cm_s", "putter_impact_cm_s", "putter_peak_cm_s", "back_peak_cm_s")
    out = {n: unseen("cm/s", "not seen") for n in names}
    out["hands_to_putter_stop"] = unseen("1", "not seen")
    ball, body = cm_per_px(s.signals, "ball"), cm_per_px(s.signals, "body")
    e = s.events
    if not s.face_on or e.impact_s is None:
        return out
    impact = e.impact_s
    end = e.settle_s if e.settle_s is not None else impact + 0.8
    through = s.between(impact, end)
    speeds = {}
    for name, column, scale in (("hands", "hands_along_px", body or ball), ("putter", "putter_along_px", ball or body)):
        track = s.signals[column]
        if scale is None or np.isfinite(track).mean() < 0.6:
            continue
        v = slope(s.t, smooth(s.t, track * scale, HANDS_HZ))
        speeds[name] = v
        conf = s.mean_conf("hands_conf" if name == "hands" else "putter_conf", s.between(e.takeaway_s, end))
        seen = np.isfinite(v)
        if s.t[seen][0] <= impact <= s.t[seen][-1]:  # else it would be the speed of the last moment that was seen
            out[f"{name}_impact_cm_s"] = Measure(float(np.interp(impact, s.t[seen], v[seen])), "cm/s", conf)
        forward = v[s.between(e.top_s, end)]
        if np.isfinite(forward).any():
            out[f"{name}_peak_cm_s"] = Measure(float(np.nanmax(forward)), "cm/s", conf)
        back = v[s.between(e.takeaway_s, e.top_s)]
        if name == "putter" and np.isfinite(back).any():
            out["back_peak_cm_s"] = Measure(float(-np.nanmin(back)), "cm/s", conf)
    hands, putter = out["hands_impact_cm_s"].value, out["putter_impact_cm_s"].value
    if hands and putter and hands > 3 and putter > 3 and through.sum() >= 3:
        ratio_h, ratio_p = speeds["hands"][through] / hands, speeds["putter"][through] / putter
        slowest = _slowest(ratio_h[ratio_p > HANDS_STOP[1]])
        if slowest is not None:
            conf = min(out["hands_impact_cm_s"].confidence, out["putter_impact_cm_s"].confidence)
            out["hands_to_putter_stop"] = Measure(slowest, "1", conf)
    return out


def _slowest(shares: Floats) -> float | None:
    """Of the hands' shares of their speed at impact; None: they were out of sight for some of it, and may have stopped then."""
    seen = shares[np.isfinite(shares)]
    if not seen.size or (seen.size < shares.size and seen.min() >= HANDS_STOP[0]):
        return None
    return float(seen.min())


def _head(s: Stretch) -> dict[str, Measure]:
    out = {
        n: unseen(u, "the head was not seen")
        for n, u in (("head_turn_deg", "deg"), ("sway_cm", "cm"), ("lift_cm", "cm"))
    }
    e = s.events
    settle = e.settle_s if e.settle_s is not None else float(s.t[-1])
    turning = HeadTurn(s.signals, s.take)
    turn = turning.change
    during = s.between(s.take, settle)
    conf = s.mean_conf("head_turn_conf", during) * seen_until(s.t, turn, e.settle_s)
    if np.isfinite(turn[during]).any():
        k = int(np.nanargmax(np.abs(turn[during])))
        sure = min(conf, told_confidence(turning, s.signals["head_turn_conf"], settle, e.look_s))
        out["head_turn_deg"] = Measure(float(turn[during][k]), "deg", sure)
    # A head that turns to look carries its middle along: place counts until the look.
    last = min(settle, e.look_s) if e.look_s is not None else settle
    scale = cm_per_px(s.signals, "body")
    steady = s.between(s.take, last)
    for name, axis in (("sway_cm", "along"), ("lift_cm", "up")):
        if scale is None:
            out[name] = unseen("cm", "no size reference: neither ball nor height known")
            continue
        moved = s.change(smooth(s.t, head_px(s.signals, axis), HANDS_HZ)) * scale
        seen = moved[steady & np.isfinite(moved)]
        if seen.size:
            value = float(seen[np.argmax(np.abs(seen))]) if name == "sway_cm" else float(seen.max())
            out[name] = Measure(value, "cm", conf)
    return out
