"""Event times of one stroke, refined after it with zero-lag filters, local fits and sub-frame interpolation."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Mapping

import numpy as np
from scipy.optimize import least_squares

from trainer.stroke import phases as ph
from trainer.stroke.filters import crossing, slope, smooth
from trainer.stroke.record import EventName, Floats, Signals
from trainer.stroke.signals import main_track, rough_cm_per_px

FINE_HZ = 12.0  # cut-off for places
SPEED_HZ = 8.0  # cut-off for speeds


@dataclass(frozen=True)
class Path:
    """The putter head (or the hands, see source) along the line: time_s (n,), x_cm (n,) from address, rough cm."""

    time_s: Floats
    x_cm: Floats
    raw_cm: Floats
    base_cm: float
    source: str
    scale: float


def path_of(signals: Signals, takeaway_s: float) -> Path | None:
    """The path with its zero at the address place just before takeaway; None when neither putter nor hands were seen."""
    track, source = main_track(signals)
    if np.isfinite(track).sum() < 8:
        return None
    scale = rough_cm_per_px(signals) * (2.5 if signals.view == "down-the-line" else 1.0)
    t, raw = signals.time_s, track * scale
    at = (t >= takeaway_s - 0.4) & (t <= takeaway_s - 0.1) & np.isfinite(raw)
    if not at.any():
        at = np.isfinite(raw) & (t < takeaway_s)
    base = float(np.median(raw[at])) if at.any() else float(raw[np.isfinite(raw)][0])
    return Path(t, smooth(t, raw, FINE_HZ) - base, raw - base, base, source, scale)


def refine(signals: Signals, rough: Mapping[EventName, float], look_deg: float) -> dict[EventName, float | None]:
    """All six events; None where the stroke did not come to it or it was not seen. rough: the live tracker's times."""
    events: dict[EventName, float | None] = dict.fromkeys(
        ("takeaway_s", "top_s", "impact_s", "finish_s", "settle_s", "look_s"), None
    )
    path = path_of(signals, rough["takeaway_s"])
    if path is None:
        return events
    top0, impact0 = rough["top_s"], rough["impact_s"]
    events["takeaway_s"] = takeaway(path, rough["takeaway_s"], top0)
    events["top_s"] = top(path, events["takeaway_s"] or rough["takeaway_s"], top0, impact0)
    events["impact_s"] = impact(path, top0, impact0)
    after = events["impact_s"] or impact0
    events["settle_s"] = settle(path, after)
    events["finish_s"] = finish(path, after, events["settle_s"])
    events["look_s"] = look(signals, events["takeaway_s"] or rough["takeaway_s"], look_deg)
    return events


def _index(t: Floats, time_s: float) -> int:
    return int(np.clip(np.searchsorted(t, time_s), 0, len(t) - 1))


def takeaway(path: Path, near_s: float, top_s: float) -> float | None:
    """Last time before the top at which the putter head is TAKEAWAY_CM behind its address place, going on from there."""
    i, stop = _index(path.time_s, near_s - 0.3), _index(path.time_s, top_s)
    last = None
    for k in range(i, stop):
        a, b = path.x_cm[k], path.x_cm[k + 1]
        if a > -ph.TAKEAWAY_CM >= b:
            last = path.time_s[k] + (a + ph.TAKEAWAY_CM) / (a - b) * (path.time_s[k + 1] - path.time_s[k])
    return None if last is None else float(last)


def top(path: Path, takeaway_s: float, near_s: float, impact_s: float) -> float:
    """Middle of the dwell: between the arrival of the backstroke and the start of the forward stroke.

    Both flanks are fitted on their last quarter of the travel as lowest + c * dt^p with p 3 for a soft arrival and 2 for
    a steady start or p 2 on both sides (a pendulum); the better fit counts.
    """
    t, x = path.time_s, path.raw_cm
    low = float(np.nanmin(path.x_cm[_index(t, takeaway_s) : _index(t, impact_s) + 1]))
    use = (t > takeaway_s) & (t < impact_s) & np.isfinite(x) & (path.x_cm < low + max(0.3 * abs(low), 1.0))
    use &= np.abs(t - near_s) < 0.5
    if use.sum() < 5:
        return near_s
    ts, xs = t[use] - near_s, x[use]
    best, best_cost = 0.0, math.inf
    for p_in, p_out in ((3.0, 2.0), (2.0, 2.0)):

        def residual(q: Floats, p_in: float = p_in, p_out: float = p_out) -> Floats:
            before = np.clip(q[3] - ts, 0, None)
            after = np.clip(ts - q[4], 0, None)
            return np.asarray(q[0] + q[1] * before**p_in + q[2] * after**p_out - xs)

        k_in = abs(low) * (30 if p_in == 3.0 else 8)
        fit = least_squares(residual, [low, k_in, abs(low) * 10, -0.02, 0.02], loss="soft_l1", f_scale=0.3, max_nfev=60)
        gap = fit.x[4] - fit.x[3]
        if fit.cost < best_cost and gap > -0.12:
            best, best_cost = float(fit.x[3] + fit.x[4]) / 2, fit.cost
    return near_s + float(np.clip(best, -0.2, 0.2))


def impact(path: Path, top_s: float, near_s: float) -> float | None:
    """The putter head passes its address place going forward (linear between raw samples: it is fast there)."""
    seen = np.isfinite(path.raw_cm)
    t, x = path.time_s[seen], path.raw_cm[seen]
    return crossing(t, x, 0.0, _index(t, top_s), _index(t, near_s + 0.15) + 1)


def settle(path: Path, impact_s: float) -> float | None:
    """Start of the stillness: from here on the speed stays under SETTLE_CM_S for SETTLE_S.

    The smoothed speed finds it roughly; a fit of the last approach to rest, place = end - k (t_end - t)^n, then gives
    the time at which the speed itself passes the limit, which the filter would smear.
    """
    t = path.time_s
    x = smooth(t, path.raw_cm, SPEED_HZ)
    speed = np.abs(slope(t, x))
    i = _index(t, impact_s + 0.05)
    rough = None
    for k in range(i, len(t)):
        end = _index(t, t[k] + ph.SETTLE_S)
        if t[-1] - t[k] < ph.SETTLE_S - 1e-6:
            break
        if np.all(speed[k : end + 1] < ph.SETTLE_CM_S):
            rough = float(t[k])
            break
    if rough is None:
        return None
    use = (t > max(impact_s + 0.03, rough - 0.3)) & (t < rough + 0.3) & np.isfinite(path.raw_cm)
    if use.sum() < 6:
        return rough
    ts, xs = t[use] - rough, path.raw_cm[use]
    # Only the monotone approach: from the last turning point before the stillness.
    forward = xs[-1] > xs[0] if abs(xs[-1] - xs[0]) > 0.5 else x[_index(t, rough)] > x[_index(t, rough - 0.1)]
    sign = 1.0 if forward else -1.0
    turning = np.argmin(sign * xs[ts <= 0]) if np.any(ts <= 0) else 0
    ts, xs = ts[turning:], sign * xs[turning:]
    if len(ts) < 6:
        return rough

    def residual(q: Floats) -> Floats:
        n = 1.2 + 2.3 / (1 + math.exp(-q[3]))
        return np.asarray(q[0] - math.exp(q[1]) * np.clip(q[2] - ts, 0, None) ** n - xs)

    reach = max(float(xs.max() - xs.min()), 0.3)
    fit = least_squares(
        residual, [float(xs[-3:].mean()), math.log(reach * 8), 0.05, 0.0], loss="soft_l1", f_scale=0.2, max_nfev=80
    )
    n, k, t_end = 1.2 + 2.3 / (1 + math.exp(-fit.x[3])), math.exp(fit.x[1]), fit.x[2]
    found = rough + t_end - (ph.SETTLE_CM_S / (k * n)) ** (1 / (n - 1))
    return float(found) if abs(found - rough) < 0.12 else rough


def finish(path: Path, impact_s: float, settle_s: float | None) -> float | None:
    """Furthest point forward, by a parabola through the highest smoothed samples; not later than the settle."""
    end = settle_s if settle_s is not None else impact_s + 1.5
    i, j = _index(path.time_s, impact_s), _index(path.time_s, end)
    if j - i < 2:
        return settle_s
    k = i + int(np.nanargmax(path.x_cm[i : j + 1]))
    when = float(path.time_s[k])
    if 0 < k < len(path.time_s) - 1:
        a, b, c = path.x_cm[k - 1 : k + 2]
        bend = a - 2 * b + c
        if bend < 0:
            when += 0.5 * (a - c) / bend * float(path.time_s[k + 1] - path.time_s[k - 1]) / 2
    return min(when, settle_s) if settle_s is not None else when


def turn_change(signals: Signals, takeaway_s: float) -> Floats:
    """Head turn since address at each sample (deg), single outliers removed; NaN where not seen."""
    t, turn = signals.time_s, signals["head_turn_deg"].copy()
    turn[signals["head_turn_conf"] < 0.2] = np.nan
    at = (t >= takeaway_s - ph.ADDRESS_S[0]) & (t <= takeaway_s - ph.ADDRESS_S[1]) & np.isfinite(turn)
    if not at.any():
        return np.full_like(turn, np.nan)
    turn = turn - np.median(turn[at])
    padded = np.concatenate([turn[:1], turn, turn[-1:]])
    three = np.stack([padded[:-2], padded[1:-1], padded[2:]])
    return np.where(np.isfinite(three).all(axis=0), np.median(three, axis=0), turn)


def look(signals: Signals, takeaway_s: float, look_deg: float) -> float | None:
    """The head turn passes look_deg toward the target after takeaway and stays past it for LOOK_STAYS_S."""
    t, turn = signals.time_s, turn_change(signals, takeaway_s)
    seen = np.isfinite(turn)
    t, turn = t[seen], turn[seen]
    for k in range(_index(t, takeaway_s) if len(t) else 0, len(t) - 1):
        if turn[k] <= look_deg < turn[k + 1]:
            when = t[k] + (look_deg - turn[k]) / (turn[k + 1] - turn[k]) * (t[k + 1] - t[k])
            stays = (t > when) & (t <= when + ph.LOOK_STAYS_S + 1e-9)
            if stays.any() and t[-1] >= when + 0.6 * ph.LOOK_STAYS_S and np.all(turn[stays] > look_deg):
                return float(when)
    return None
