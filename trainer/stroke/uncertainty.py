"""How far each measure may be off in this very stroke, and what confidence that leaves.

A measure's standard deviation is worked out from what the stroke itself shows: frame rate, gaps, how much the putter's place
and the head's turn shake at address, how well the fitted backstroke fits, the size of the scale reference, tape or bare shaft,
the length of the swing. Against the tolerance that the measure is wanted to: confidence = what was seen x
1 / (1 + (deviation / tolerance)^2). So 0.8 means that 95 of 100 such values lie within the tolerance, 0.5 that 68 do. The
constants are fits to rendered and invented strokes (``tests.bench.accuracy``, ``tests.bench.rates``), kept to two digits; no
other source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Mapping

import numpy as np

from trainer.domain.measures import MEASURES
from trainer.domain.record import Events, Floats, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.backstroke import MAX_MISFIT, Backstroke
from trainer.stroke.filters import SMOOTH_STEP_S, shakes, shakes_moving
from trainer.stroke.head_turn import turn_change
from trainer.stroke.late_frames import lateness_s
from trainer.stroke.path import Path
from trainer.stroke.putter_plane import DOUBT, behind_ball

PLACE_SLOW_PX = 0.35  # what a found place wanders from where it is, slower than frames
RULER_PX = 0.2  # a ball's diameter may be off by this: 0.12 on rendered strokes, more in odd light
# Confidence below which a ball at rest is blurred, or burnt out, and what its diameter is off by then (burnt out by 7 to 13 %).
DOUBTFUL_BALLS = ((0.15, 0.3), (0.3, 0.12))
TURN_SHARE = 0.08  # a head turn is seen too small by up to this
TURN_SLOW_DEG = 0.7
SETTLE_LIMIT_CM_S2 = 30.0  # how a putter that runs out slows where its speed passes the settle's limit
# Top of a putter that is well seen: of a step, and of the time about the top in which it goes no farther than its place is off
# by, which is long in a small or slow stroke. Fits to 60 invented strokes at 15, 30 and 60 frames a second and 490 rendered ones
# harmed in all ways (``tests.bench.mess``): over 0.8 all of 61 rhythms are right, from 0.65 to 0.8 96 % of 438. Without the
# second, strokes of 7 to 12 cm were off by twice what was expected.
FIT_STEPS, DWELL_SHARE = 0.28, 0.2
# Frames further apart than these of 15 a second leave the last approach to rest three or four places: at 10 a second 62 ms late.
SPARSE_S, SPARSE = 0.067, 4.0
# Top of a putter whose place shakes while it swings (beyond what it does in a clean picture): at 0.5 cm 15 to 72 ms early.
CALM_CM, SHAKEN_S_PER_CM = 0.1, 0.15
# Top where the fitted backstroke does not speak for what was seen: at one and a half times the most misfit 144 ms early.
UNFIT_S = 0.2
# How a putter's speed changes from step to step at most: by this acceleration and, as it hits the ball, by this share; and what
# noise adds. Rendered strokes as they are come to a third of it; where a shadow or a knock was taken for a putter, to twice.
HARDEST_CM_S2, HARDEST_SHARE, SHAKES = 2500.0, 0.35, 6.0
HINGE_DEG = {"tape": 0.7, "shaft": 1.4}
HINGE_PER_DEG = 0.08  # the pose model's wrists and elbow follow the swing a tenth too little
PENDULUM_CM = 137.0
BY_HANDS_TURN_S = 0.04  # hands leave and turn up to 63 ms after or before such a putter
BY_HANDS_S = 0.25  # hands come to rest up to so long, and longer, after a putter that is not seen (rendered clips)
LATE_BEFORE_S = 0.3
UNSEEN_ADDRESS_CM = 4.0  # its address place, where only the hands tell it: 3.4 and 6 cm off on a rendered clip
SLOWEST_CM_S = 10.0  # of a putter at impact
HEAD_PX = 0.35
SWAY_SHARE, LIFT_SHARE = 0.05, 0.2  # of the value; a head that lifts also tips and comes nearer


@dataclass(frozen=True)
class Shown:
    """What one stroke shows of its own errors. Lengths cm, times s."""

    step_s: float
    gap_s: float
    place_cm: float
    px_cm: float
    scale_share: float
    misfit: float
    turn_deg: float
    taped: bool
    swing_deg: float
    late_s: float = 0.0
    by_hands: bool = False
    moving_cm: float = 0.0
    jump_cm: float = 0.0
    address_seen: bool = True
    dwell_s: float = 0.0


def shown(signals: Signals, path: Path, events: Events, back: Backstroke | None) -> Shown:
    """From the raw signals."""
    t, take = signals.time_s, events.takeaway_s or float(signals.time_s[0])
    end = events.settle_s or events.finish_s or float(t[-1])
    during = (t >= take) & (t <= end)
    steps = np.diff(t[during & path.seen]) if (during & path.seen).sum() > 1 else np.array([1.0])
    began = t[(t >= take - th.ADDRESS_S[0]) & (t <= end) & path.seen]
    ends = (began[0] - (take - th.ADDRESS_S[1]), end - began[-1]) if began.size else (1.0, 1.0)  # out of sight there
    at = (t >= take - th.ADDRESS_S[0]) & (t <= take - th.ADDRESS_S[1])
    diameter = float(np.nanmedian(signals["ball_diameter_px"])) if _any(signals["ball_diameter_px"]) else 8.0
    around = (t >= take - LATE_BEFORE_S) & (t <= end + LATE_BEFORE_S)
    moving = shakes_moving(t[during], path.seen_cm[during])
    late = lateness_s(t[around], signals.index[around])
    reach = float(np.nanmax(np.abs(path.x_cm[during]))) if during.any() and _any(path.x_cm[during]) else 0.0
    place = math.hypot(max(shakes(path.raw_cm[at]), moving), PLACE_SLOW_PX * path.scale)
    return Shown(
        step_s=float(np.median(steps)),
        gap_s=float(max(steps.max(), *ends)),
        place_cm=place,
        px_cm=path.scale,
        scale_share=math.hypot(_scale_share(signals, diameter), DOUBT * behind_ball(signals, take)),
        misfit=back.misfit if back is not None else 0.03,
        turn_deg=math.hypot(shakes(turn_change(signals, take)[at]), TURN_SLOW_DEG),
        taped=bool(np.nanmedian(signals["putter_by_tape"]) > 0.5) if _any(signals["putter_by_tape"]) else False,
        late_s=late,
        by_hands=path.source == "hands",
        moving_cm=moving,
        address_seen=bool((at & path.seen).any()),
        jump_cm=jump_cm(t[during & path.seen], path.raw_cm[during & path.seen], moving, late),
        dwell_s=_dwell_s(path, events, place),
        swing_deg=math.degrees(math.asin(min(reach / PENDULUM_CM, 1.0))),
    )


def _dwell_s(path: Path, events: Events, place_cm: float) -> float:
    """How long after its top a putter that speeds up steadily has gone no farther than this; 0 where it cannot be told."""
    if events.top_s is None or events.impact_s is None:
        return 0.0
    inside = (path.time_s <= events.impact_s) & np.isfinite(path.x_cm)
    back = -float(np.min(path.x_cm[inside], initial=0.0))
    return (events.impact_s - events.top_s) * math.sqrt(min(place_cm / max(back, 0.1), 1.0))


def jump_cm(time_s: Floats, place_cm: Floats, shakes_cm: float, late_s: float) -> float:
    """The largest step that no putter makes, so that it was lost there and another thing taken for it; 0: it makes none."""
    if len(time_s) < 3:
        return 0.0
    steps = np.diff(time_s)
    speed = np.diff(place_cm) / steps
    fastest = np.maximum(np.abs(speed[1:]), np.abs(speed[:-1]))
    step = (steps[1:] + steps[:-1]) / 2
    jump = np.abs(np.diff(speed)) * step
    usual = (HARDEST_CM_S2 * step + HARDEST_SHARE * fastest) * step + SHAKES * shakes_cm + 2 * late_s * fastest
    return float(np.max(np.where(jump > usual, jump, 0.0)))


def _scale_share(signals: Signals, diameter_px: float) -> float:
    """What lengths are off by as a whole."""
    sure = float(np.nanmedian(signals["ball_conf"])) if _any(signals["ball_conf"]) else 1.0
    return next((share for below, share in DOUBTFUL_BALLS if sure < below), RULER_PX / max(diameter_px, 1.0))


def _any(values: Floats) -> bool:
    return bool(np.isfinite(values).any())


def times_s(s: Shown) -> tuple[float, float, float]:
    """Standard deviations of top (and start), impact and settle."""
    hidden = 0.25 * max(s.gap_s - 1.5 * s.step_s, 0.0)
    steps = s.step_s * math.sqrt(max(s.step_s / SMOOTH_STEP_S, 1.0))
    fit = FIT_STEPS * steps + 0.35 * s.misfit + UNFIT_S * max(s.misfit / MAX_MISFIT - 1.0, 0.0)
    shaken = SHAKEN_S_PER_CM * max(s.moving_cm - CALM_CM, 0.0)
    settle = 0.9 * math.sqrt(s.step_s * 0.008) + s.place_cm / SETTLE_LIMIT_CM_S2
    settle += SPARSE * max(s.step_s - SPARSE_S, 0.0)
    return (
        math.hypot(fit, DWELL_SHARE * s.dwell_s, hidden, s.late_s, shaken, BY_HANDS_TURN_S if s.by_hands else 0.0),
        math.hypot(0.06 * s.step_s, 0.5 * hidden, s.late_s),
        math.hypot(settle, hidden, s.late_s, BY_HANDS_S if s.by_hands else 0.0),
    )


def crossing_sd_s(s: Shown, path: Path, impact_s: float) -> float:
    """Standard deviation of the time at which the path crosses the address place: a slow putter's is known less."""
    speed = float(np.interp(impact_s, path.time_s, np.gradient(path.x_cm, path.time_s)))
    place = s.place_cm / max(speed, SLOWEST_CM_S) if math.isfinite(speed) else 0.0
    return math.hypot(times_s(s)[1], place)


def deviations(s: Shown, signals: Signals, events: Events, measures: Mapping[str, Measure]) -> dict[str, float]:
    """Standard deviation of each measure that has a tolerance and a value."""
    top, impact, settle = times_s(s)
    wanted = [n for n, spec in MEASURES.items() if spec.tolerance is not None and n in measures]
    value = {n: measures[n].value for n in wanted if measures[n].value is not None}
    look = _look_s(s, signals, events)
    out = {}
    for name, v in value.items():
        assert v is not None
        if name in ("back_cm", "through_cm"):
            unseen = 0.0 if s.address_seen else UNSEEN_ADDRESS_CM
            out[name] = math.hypot(s.place_cm * 1.4, s.scale_share * abs(v), 0.12 * s.gap_s * abs(v), unseen)
        elif name == "recoil_cm":
            out[name] = math.hypot(1.4 * s.place_cm, s.scale_share * abs(v))
        elif name == "hinge_change_deg":
            out[name] = math.hypot(HINGE_DEG["tape" if s.taped else "shaft"], HINGE_PER_DEG * s.swing_deg, 12 * s.gap_s)
        elif name == "head_turn_deg":
            out[name] = math.hypot(s.turn_deg, TURN_SHARE * abs(v))
        elif name in ("sway_cm", "lift_cm", "head_with_putter_cm"):
            moving = _rate(signals, events, "up" if name == "lift_cm" else "along") * max(look, settle)
            out[name] = math.hypot(
                HEAD_PX * s.px_cm, (LIFT_SHARE if name == "lift_cm" else SWAY_SHARE) * abs(v), moving
            )
            if name == "sway_cm":
                out[name] = math.hypot(out[name], _other_way(signals, events, v, 2 * out[name]))
        elif name == "tempo_ratio":
            out[name] = _tempo(v, measures, top, impact)
        else:
            assert MEASURES[name].unit == "s", f"how is {name} off?"
            out[name] = math.hypot(impact if name == "look_from_impact_s" else settle, look)
    return out


def _tempo(ratio: float, measures: Mapping[str, Measure], top: float, impact: float) -> float:
    """Of a ratio of two times that share the top."""
    forward = measures["forward_s"].value or 0.3
    return math.hypot(top * (1 + ratio), top, ratio * impact) / max(forward, 0.1)


def _look_s(s: Shown, signals: Signals, events: Events) -> float:
    """Of the look's time: the turn's errors over how fast it turns then."""
    take, look = events.takeaway_s, events.look_s
    if take is None or look is None:
        return 0.0
    t, turn = signals.time_s, turn_change(signals, take)
    near = (np.abs(t - look) < max(0.1, 2.5 * s.step_s)) & np.isfinite(turn)
    if near.sum() < 2:
        return 0.1
    rate = abs(float(np.polyfit(t[near] - look, turn[near], 1)[0]))
    return min(math.hypot(s.turn_deg, TURN_SHARE * 12.0) / max(rate, 1.0), 0.3)


def _rate(signals: Signals, events: Events, axis: str) -> float:
    """Speed of the head (cm/s) where its place stops counting: at the look, if that comes before the settle."""
    look, settle = events.look_s, events.settle_s
    if look is None or (settle is not None and settle < look):
        return 0.0
    near = (np.abs(signals.time_s - look) < 0.12) & np.isfinite(signals[f"head_{axis}_px"])
    scale = signals["body_cm_per_px"]
    if near.sum() < 3 or not _any(scale):
        return 0.0
    t = signals.time_s[near]
    return abs(float(np.polyfit(t - look, signals[f"head_{axis}_px"][near], 1)[0])) * float(np.nanmedian(scale))


def _other_way(signals: Signals, events: Events, sway_cm: float, error_cm: float) -> float:
    """What it costs that the head went as far the other way: half of the difference, where noise may decide; else 0."""
    take, last = events.takeaway_s, events.settle_s or float(signals.time_s[-1])
    if take is None or not _any(signals["body_cm_per_px"]):
        return 0.0
    t, x = signals.time_s, signals["head_along_px"] * float(np.nanmedian(signals["body_cm_per_px"]))
    at = (t >= take - th.ADDRESS_S[0]) & (t <= take - th.ADDRESS_S[1]) & np.isfinite(x)
    use = (t >= take) & (t <= min(last, events.look_s or last)) & np.isfinite(x)
    if not at.any() or not use.any():
        return 0.0
    moved = x[use] - float(np.median(x[at]))
    other = float(-moved.min() if sway_cm > 0 else moved.max())
    cost = min(0.5 * (abs(sway_cm) + other), MEASURES["sway_cm"].tolerance or 0.0)  # how large it is stays known
    return cost if other > abs(sway_cm) - error_cm else 0.0


def sure(measures: dict[str, Measure], deviation: Mapping[str, float]) -> dict[str, Measure]:
    """The measures with their confidence lowered by what they may be off by."""
    out = dict(measures)
    for name, sd in deviation.items():
        wanted = MEASURES[name].wanted(measures[name].value or 0.0)
        out[name] = replace(measures[name], confidence=measures[name].confidence / (1 + (sd / wanted) ** 2))
    return out
