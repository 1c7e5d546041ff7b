"""What the camera saw of a putt, for the scale: the ball's speed over its first 60 cm, and a record as a `Putt`."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from trainer.coaching.distance.checks import ROUNDED
from trainer.coaching.distance.green_speed import BALL_SPEED_ERROR
from trainer.coaching.distance.putt import Putt
from trainer.coaching.distance.skid import DEFAULT_LAUNCH, Launch, launch_from_mean_speed_m_s, run_m
from trainer.domain.measures import confident_value
from trainer.domain.record import Floats, Measure, StrokeRecord
from trainer.errors import UsageError
from trainer.texts import tr

OVER_CM = 60.0
_NEAR_CM = 4.0  # nearer, the putter still hides part of the ball
_MIN_CM = 50.0  # seen at least so far
_MIN_FRAMES = 4
_ADDRESS_S = (1.5, 0.08)  # before impact, when the ball lies still
_LATE_S = 0.06  # the ball's path must start at the stroke's impact to this


def ball_speed(record: StrokeRecord) -> Measure:
    """Mean speed over the first 60 cm from the ball's place at address, cm/s; None with a reason when it was not seen.

    A parabola through the ball's places (robust against single wrong ones) gives the times of leaving and of passing
    60 cm. Ruler: the ball's own diameter at address, so the ball must roll at right angles to the camera's view.
    """
    impact = record.events.impact_s
    if record.view != "face-on":
        return _unseen(tr("the ball's way is measured face-on only"))
    if record.kind != "ball" or impact is None:
        return _unseen(tr("no ball was struck") if record.kind != "ball" else tr("impact not seen"))
    t, along = record.signals.time_s, record.signals["ball_along_px"]
    before = (t >= impact - _ADDRESS_S[0]) & (t <= impact - _ADDRESS_S[1]) & np.isfinite(along)
    scale = record.signals["ball_cm_per_px"][before]
    if not before.any() or not np.isfinite(scale).any():
        return _unseen(tr("no ball seen at address"))
    way = (along - np.median(along[before])) * np.nanmedian(scale)
    after = (t > impact) & np.isfinite(way) & (way > _NEAR_CM)
    passed = np.flatnonzero(after & (way > OVER_CM * 1.1))
    use = after & (np.arange(len(t)) <= (passed[0] if passed.size else len(t)))
    if use.sum() < _MIN_FRAMES or way[use].max() < _MIN_CM:
        return _unseen(tr("the ball was not followed over its first 60 cm"))
    times = _passing_s(t[use], way[use])
    if times is None or abs(times[0] - impact) > _LATE_S:
        return _unseen(tr("the ball's way does not begin at impact"))
    seen = float(use.sum() / max(1, ((t > impact) & (t <= t[use][-1])).sum()))
    return Measure(OVER_CM / (times[1] - times[0]), "cm/s", min(1.0, 0.9 * seen))


def _passing_s(t: Floats, way_cm: Floats) -> tuple[float, float] | None:
    """When the ball left its place and when it passed 60 cm; None when the points are no way of a slowing ball."""
    from scipy.optimize import least_squares

    middle = float(t.mean())
    tau = t - middle
    start = np.array([np.median(way_cm), (way_cm[-1] - way_cm[0]) / (t[-1] - t[0]), -60.0])
    found = least_squares(
        lambda p: p[0] + p[1] * tau + p[2] * tau**2 - way_cm, start, loss="soft_l1", f_scale=0.5, x_scale=[10, 100, 100]
    )
    c, b, a = (float(v) for v in found.x)
    rms = math.sqrt(float(np.median(found.fun**2)))
    if b <= 0.0 or rms > 3.0:
        return None
    out = []
    for place in (0.0, OVER_CM):
        below = b * b - 4.0 * a * (c - place)
        if below < 0.0:
            return None
        out.append(middle + 2.0 * (place - c) / (b + math.sqrt(below)))
    return (out[0], out[1]) if out[1] > out[0] else None


def putt_of(
    record: StrokeRecord,
    rolled_m: float,
    green_speed_ft: float,
    slope_pct: float = 0.0,
    target_m: float | None = None,
    rounded_to_m: float = 0.1,
    launch: Launch = DEFAULT_LAUNCH,
) -> Putt:
    """A stroke on record with the roll-out its player entered. Raises UsageError when its length was not seen."""
    back = _value(record, "back_cm")
    if back is None:
        reason = record.measures["back_cm"].reason if "back_cm" in record.measures else ""
        raise UsageError(tr("the length of this stroke was not seen"), reason, tr("enter it with --back"))
    speed = ball_speed(record).value
    launched = None
    if speed is not None:
        launched = launch_from_mean_speed_m_s(speed / 100.0, OVER_CM / 100.0, green_speed_ft, slope_pct, launch)
    return Putt(
        back,
        rolled_m,
        green_speed_ft,
        slope_pct,
        target_m,
        _value(record, "backstroke_s"),
        _value(record, "forward_s"),
        launched,
        rounded_to_m,
    )


def by_speed(putt: Putt, launch: Launch = DEFAULT_LAUNCH) -> Putt:
    """For a mat too short to roll out: how far the ball would have run at the speed seen, as unsure as that speed is.

    Raises UsageError when the speed was not seen.
    """
    if putt.ball_speed_m_s is None:
        raise UsageError(tr("the ball's speed was not seen"), "putt", tr("enter how far it ran with --rolled"))
    would_run_m = run_m(putt.ball_speed_m_s, putt.green_speed_ft, putt.slope_pct, launch)
    # Distance goes with speed squared: twice the error, either way.
    rounded_to_m = min(4.0 * BALL_SPEED_ERROR * would_run_m, ROUNDED.high)
    return replace(putt, rolled_m=would_run_m, rounded_to_m=rounded_to_m, estimated=True)


def frames_per_s(record: StrokeRecord) -> float:
    """Of the camera during the stroke."""
    return float(1.0 / np.median(np.diff(record.signals.time_s)))


def _value(record: StrokeRecord, name: str) -> float | None:
    return confident_value(record.measures.get(name))


def _unseen(reason: str) -> Measure:
    return Measure(None, "cm/s", 0.0, reason)
