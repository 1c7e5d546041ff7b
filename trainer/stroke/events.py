"""Event times of one stroke, refined after it with zero-lag filters, local fits and sub-frame interpolation."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from trainer.domain.record import Events, Floats, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.backstroke import MAX_MISFIT, Backstroke, fit_backstroke
from trainer.stroke.filters import crossing_s, first_crossing_s, robust_fit, shakes, slope, smooth
from trainer.stroke.head_turn import HeadTurn
from trainer.stroke.head_turn import turn_change as turn_change  # where others look for it
from trainer.stroke.path import Path, path_of

SPEED_HZ = 8.0  # cut-off for speeds
NEAR_TOP_S = 0.25  # either end of the dwell lies so near the lowest place, or the putter waits between
WAITS_SHARE, WAITS_CM = 0.03, 0.5  # what it moves by meanwhile, of the way back
FALLEN = 0.7  # share of its peak to which the speed has fallen where the last approach to rest begins
AT_REST_S = 0.09  # so much of the rest belongs to the approach
APPROACH_SAMPLES = 5
WINDOWS = (-1, 0, 1)  # samples by which the approach begins sooner or later: one fit leans on where it begins
# What an exponent of the last approach off the middle of its range costs, as a sample that is off by so much: the end is flat,
# and noise alone took the exponent where it liked (SD of one stroke's finish 27 ms; so 14, and off by 19 ms in place of 32).
USUAL_CM = 0.1
SAME_WAY_CM = 0.05  # a step back by less is noise
# Coming back by less than so many times what a place shakes by is no recoil: of 338 rests of harmed clips two were taken for one,
# 57 and 89 ms late.
NO_RECOIL = 3.0
NEAR_ROUGH_S = 0.12
LONGEST_END_S = 0.25  # from settle to standing; a fit that says more has lost its end in the sway
GONE_S = 0.12  # unseen for so long after the furthest point: it was not the furthest


def refine(signals: Signals, rough: Events, look_deg: float) -> tuple[Events, Path | None, Backstroke | None]:
    """All six events, None where the stroke did not come to it or it was not seen; the path and the fitted backstroke.

    rough: the live tracker's times, up to impact at least.
    """
    take0, top0, impact0 = rough.at("takeaway_s"), rough.at("top_s"), rough.at("impact_s")
    path = path_of(signals, take0)
    if path is None:
        return Events(), None, None
    back = fit_backstroke(path, take0, top0)
    take, struck = takeaway(path, take0, top0, back), impact(path, top0, impact0)
    after = struck or impact0
    address = (path.time_s >= take0 - th.ADDRESS_S[0]) & (path.time_s <= take0 - th.ADDRESS_S[1])
    came = arrival(path, after, shakes(path.raw_cm[address]))
    events = Events(
        takeaway_s=take,
        top_s=top(path, take or take0, top0, impact0, back),
        impact_s=struck,
        finish_s=finish(path, after, came),
        settle_s=came.settle_s if came is not None else None,
        look_s=HeadTurn(signals, take or take0).look(look_deg),
    )
    return events, path, back


def _index(t: Floats, time_s: float) -> int:
    return int(np.clip(np.searchsorted(t, time_s), 0, len(t) - 1))


def takeaway(path: Path, near_s: float, top_s: float, back: Backstroke | None) -> float | None:
    """Last time before the top at which the putter head is TAKEAWAY_CM behind its address place, going on from there.

    Read off the fitted backstroke where it fits (half a centimetre is little against noise and sway), else the path.
    """
    i, stop = _index(path.time_s, near_s - 0.3), _index(path.time_s, top_s)
    last = None
    for k in range(i, stop):
        a, b = path.x_cm[k], path.x_cm[k + 1]
        if a > -th.TAKEAWAY_CM >= b:
            last = crossing_s((path.time_s[k], a), (path.time_s[k + 1], b), -th.TAKEAWAY_CM)
    if back is not None and back.misfit < MAX_MISFIT:
        fitted = back.passes(th.TAKEAWAY_CM)
        if fitted is not None and abs(fitted - near_s) < 0.12:
            return fitted
    return None if last is None else float(last)


def top(path: Path, takeaway_s: float, near_s: float, impact_s: float, back: Backstroke | None) -> float:
    """Middle of the dwell: between the arrival of the backstroke (its fit's end) and the start of the forward stroke.

    Start of the forward stroke: the square root of the height above the lowest place is straight in time (steady
    acceleration and pendulum alike) and is followed down to zero.
    """
    t, x = path.time_s, path.raw_cm
    inside = (t > takeaway_s) & (t < impact_s) & np.isfinite(path.x_cm)
    if inside.sum() < 5:
        return near_s
    lowest = float(np.min(path.x_cm[inside]))
    height = x - lowest
    out = inside & (t > near_s) & (height > max(0.02 * abs(lowest), 0.25)) & (height < max(0.5 * abs(lowest), 1.5))
    leave = _root_line(t[out] - near_s, height[out], 2.0)
    ends = [v for v in (back.arrive_s - near_s if back else None, leave[1] if leave else None) if v is not None]
    ends = [v for v in ends if abs(v) < NEAR_TOP_S or _stays(path, near_s + v, near_s, lowest)]
    return near_s + float(np.mean(ends)) if ends else near_s


def _stays(path: Path, from_s: float, to_s: float, lowest_cm: float) -> bool:
    """Whether the putter waited at the top from the one to the other: a pause, which may be as long as it likes."""
    waits = (path.time_s > from_s) & (path.time_s < to_s)
    return bool(waits.any() and np.all(path.x_cm[waits] < lowest_cm + max(WAITS_SHARE * abs(lowest_cm), WAITS_CM)))


def _root_line(ts: Floats, height: Floats, power: float) -> tuple[float, float] | None:
    """(misfit, time at which height^(1/power), fitted by a straight line, is zero)."""
    if len(ts) < 3:
        return None
    root = height ** (1 / power)
    rate, at0 = np.polyfit(ts, root, 1)
    if abs(rate) < 1e-6:
        return None
    misfit = float(np.sqrt(np.mean((rate * ts + at0 - root) ** 2)) / max(root.max(), 1e-6))
    return misfit, float(-at0 / rate)


def impact(path: Path, top_s: float, near_s: float) -> float | None:
    """The putter head passes its address place going forward (linear between raw samples: it is fast there)."""
    seen = np.isfinite(path.raw_cm)
    t, x = path.time_s[seen], path.raw_cm[seen]
    return first_crossing_s(t, x, 0.0, _index(t, top_s), _index(t, near_s + 0.15) + 1)


@dataclass(frozen=True)
class Arrival:
    """How the putter came to rest: settle_s, the speed falls under the limit for good; end_s, it stands; forward: it
    came to rest on its way toward the target, not back from a recoil."""

    settle_s: float
    end_s: float | None
    forward: bool


def arrival(path: Path, impact_s: float, shakes_cm: float = 0.0) -> Arrival | None:
    """Start of the stillness: from here on the speed stays under SETTLE_CM_S for SETTLE_S. shakes_cm: what a place shakes by.

    The smoothed speed finds it roughly; a fit of the last approach to rest, place = end - size (t_end - t)^n, then gives
    the time at which the speed itself passes the limit, which the filter would smear. The approach begins where the speed
    has fallen to FALLEN of its peak and ends shortly after rest, before the body's own sway counts.
    """
    t = path.time_s
    x = smooth(t, path.raw_cm, SPEED_HZ)
    speed = np.abs(slope(t, x))
    limit = th.SETTLE_CM_S if path.source == "putter" else th.HANDS_SETTLE_CM_S
    rough = _first_rest(t, speed, limit, _index(t, impact_s + 0.05))
    if rough is None:
        return None
    stop, first = _index(t, rough), _index(t, max(impact_s + 0.03, rough - 0.35))
    forward = bool(x[stop] > x[max(stop - 3, 0)])
    if not forward:
        furthest = first + int(np.argmax(np.nan_to_num(x[first : stop + 1], nan=-np.inf)))
        back_cm = x[furthest] - x[min(stop + 2, len(x) - 1)]
        if back_cm < NO_RECOIL * math.hypot(shakes_cm, SAME_WAY_CM):
            forward, stop, rough = True, furthest, float(t[furthest])
    sign = 1.0 if forward else -1.0
    begin = _begins(x, speed, sign, first, stop)
    found = [fit for k in WINDOWS if (fit := _approach(path, sign, t[max(begin + k, 0)], rough, limit)) is not None]
    if not found:
        return Arrival(rough, None, forward)
    settle, end = (float(v) for v in np.mean(found, axis=0))
    return Arrival(settle, end if end - settle < LONGEST_END_S else None, forward)


def _begins(x: Floats, speed: Floats, sign: float, first: int, stop: int) -> int:
    """Sample from which on the way to sample ``stop`` is the last approach to rest."""
    start = stop
    while start > first and sign * (x[start - 1] - x[start]) < SAME_WAY_CM:
        start -= 1
    begin = start + int(np.argmax(speed[start : stop + 1]))
    while begin < stop and speed[begin] > FALLEN * speed[start : stop + 1].max():
        begin += 1
    return max(start, min(begin, stop - APPROACH_SAMPLES))


def _approach(path: Path, sign: float, begin_s: float, rough: float, limit: float) -> tuple[float, float] | None:
    """(time at which the speed passes the limit, end) of the last approach to rest; None where the fit leads away."""
    t = path.time_s
    use = (t >= begin_s) & (t < rough + AT_REST_S) & np.isfinite(path.raw_cm)
    if use.sum() <= APPROACH_SAMPLES:
        return None
    ts, xs = t[use] - rough, sign * path.raw_cm[use]

    def residual(q: Floats) -> Floats:
        size, n = _power(q)
        return np.append(q[0] - size * np.maximum(q[2] - ts, 0.0) ** n - xs, USUAL_CM * q[3])

    reach = max(float(xs.max() - xs.min()), 0.3)
    fitted = robust_fit(residual, [float(xs[-3:].mean()), math.log(reach * 8), 0.05, 0.0], 0.2)
    (size, n), t_end = _power(fitted), float(fitted[2])
    found = t_end - (limit / (size * n)) ** (1 / (n - 1))
    return (rough + found, rough + t_end) if abs(found) <= NEAR_ROUGH_S else None


def _first_rest(t: Floats, speed: Floats, limit: float, first: int) -> float | None:
    """Time from which the speed stays under the limit for SETTLE_S, between samples; None when it never does."""
    seen = np.flatnonzero(np.isfinite(speed) & (np.arange(len(t)) >= first))
    t, speed = t[seen], speed[seen]
    since: float | None = None
    for k in range(len(t)):
        if speed[k] < limit:
            if since is None:
                since = _passes(t, speed, limit, k) if k > 0 and speed[k - 1] >= limit else float(t[k])
            if k == len(t) - 1 and t[k] - since >= th.SETTLE_S - 1e-6:
                return since
        elif since is not None:
            if _passes(t, speed, limit, k) - since >= th.SETTLE_S - 1e-6:
                return since
            since = None
    return None


def _passes(t: Floats, v: Floats, level: float, k: int) -> float:
    """Time between samples k - 1 and k at which v passes the level."""
    return float(crossing_s((t[k - 1], v[k - 1]), (t[k], v[k]), level))


def _power(q: Floats) -> tuple[float, float]:
    """Size and exponent (1.2 to 3.5) of the last approach to rest, from parameters that a fit may carry anywhere."""
    return math.exp(min(max(q[1], -20.0), 20.0)), 1.2 + 2.3 / (1 + math.exp(min(max(-q[3], -50.0), 50.0)))


def finish(path: Path, impact_s: float, came: Arrival | None) -> float | None:
    """Furthest point forward: where the last approach to rest ends, or the turning point before a recoil.

    None where nothing is known of what is followed right after the furthest point that was seen: it went on out of sight, or past
    the record's end.
    """
    if came is not None and came.forward:
        return came.end_s if came.end_s is not None else came.settle_s
    end = came.settle_s if came is not None else impact_s + 1.5
    i, j = _index(path.time_s, impact_s), _index(path.time_s, end)
    if j - i < 2 or not np.isfinite(path.x_cm[i : j + 1]).any():
        return came.settle_s if came is not None else None
    way = path.x_cm[i : j + 1]
    back = np.fmax.accumulate(way) - way > th.RECOIL_BEGUN_CM  # a putter that swings on may go farther later
    k = i + int(np.nanargmax(way[: int(back.argmax()) + 1] if back.any() else way))
    when = float(path.time_s[k])
    after = (path.time_s > when) & (path.time_s <= when + GONE_S)
    if not path.seen[after].any():
        return None
    if 0 < k < len(path.time_s) - 1:
        a, b, c = path.x_cm[k - 1 : k + 2]
        bend = a - 2 * b + c
        if bend < 0:
            when += 0.5 * (a - c) / bend * float(path.time_s[k + 1] - path.time_s[k - 1]) / 2
    return when
