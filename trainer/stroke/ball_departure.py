"""Impact told by the ball: when it left its place, from its roll followed back, against the putter's path."""

from __future__ import annotations

import math

import numpy as np

from trainer.domain.record import Events, Floats, Measure, Signals
from trainer.stroke.signals import line_px

AGREE_S = 0.020  # the two must agree within this, or it is said
NEAR_S = 0.15  # the ball leaves within this of the putter's impact; later it was something else
ROLL_S = 0.17  # so much of the first roll is followed back: six frames at 30 a second; it is nearly steady for so long
SLACK_S = 0.02  # a slow ball's line, which its slowing bends, may come out this much too early
LEAST_SEEN = 3
LEFT_DIAMETERS = 0.4  # further from its place than this share of a ball: it has left
AT_PLACE_DIAMETERS = 0.15
DOUBTFUL_S = 0.015  # standard deviation of the time at which there is no confidence left
MISFIT_DIAMETERS = 0.08  # least scatter about the fit to reckon with: the middle of a smear is known no better
BALL_SD_S, PATH_SD_S = 0.002, 0.003  # what each is off by besides its own account (STUDY.md: impact told twice)
NAME = "impact_ball_later_s"


def left_s(signals: Signals, impact_s: float) -> tuple[float, float, float] | None:
    """(time at which the ball left its place, its standard deviation, mean confidence); None when it was not seen to.

    The first roll toward the target, a straight line in time (median of the slopes between all pairs: one bad frame does
    not matter), is followed back to the ball's place before the stroke. It must come out between the last frame that
    shows the ball at its place (a frame or SLACK_S before it) and the first that shows it gone.
    """
    t, x = signals.time_s, line_px(signals, "ball")
    diameter = signals["ball_diameter_px"]
    before = (t < impact_s - NEAR_S) & (t > impact_s - 2.0) & np.isfinite(x) & np.isfinite(diameter)
    if before.sum() < LEAST_SEEN:
        return None
    place, ball = float(np.median(x[before])), float(np.median(diameter[before]))
    away = np.isfinite(x) & (x - place > LEFT_DIAMETERS * ball) & (t > impact_s - NEAR_S)
    if not away.any():
        return None
    first = int(np.argmax(away))
    if t[first] > impact_s + NEAR_S:
        return None
    at_place = np.flatnonzero(np.isfinite(x[:first]) & (np.abs(x[:first] - place) < AT_PLACE_DIAMETERS * ball))
    rolls = np.flatnonzero(away & (t <= t[first] + ROLL_S))
    if len(rolls) < LEAST_SEEN or not len(at_place):
        return None
    speed, back = _line(t[rolls], x[rolls] - place)
    earliest = t[at_place[-1]] - max(float(np.median(np.diff(t))), SLACK_S)
    if speed <= 0 or not earliest <= back <= t[first]:
        return None
    misfit = max(float(np.std(x[rolls] - place - speed * (t[rolls] - back))), MISFIT_DIAMETERS * ball)
    # Of a straight line's crossing, least squares: scatter / slope x sqrt(1/n + distance^2 / spread).
    apart = t[rolls] - t[rolls].mean()
    spread = float(np.sqrt(1 / len(rolls) + (back - t[rolls].mean()) ** 2 / (apart @ apart)))
    return back, misfit / speed * spread, float(np.nan_to_num(signals["ball_conf"][rolls]).mean())


def by_both(signals: Signals, impact_s: float, sd_s: float) -> tuple[float, float]:
    """Impact by path and ball, weighed by their own uncertainties, with its standard deviation; by the path alone where the ball
    was not seen to leave, or they contradict each other. impact_s, sd_s: by the path, its own account.
    """
    sd_s = math.hypot(sd_s, PATH_SD_S)
    found = left_s(signals, impact_s)
    if found is None or abs(found[0] - impact_s) > AGREE_S:
        return impact_s, sd_s
    ball_s, ball_sd_s = found[0], math.hypot(found[1], BALL_SD_S)
    weight = sd_s**2 / (sd_s**2 + ball_sd_s**2)
    return impact_s + weight * (ball_s - impact_s), math.sqrt(weight) * ball_sd_s


def _line(t: Floats, x: Floats) -> tuple[float, float]:
    """Slope (Theil 1950, Sen 1968: median over pairs) and the time at which the line is zero."""
    i, j = np.triu_indices(len(t), 1)
    slope = float(np.median((x[j] - x[i]) / (t[j] - t[i])))
    return slope, float(np.median(t - x / slope)) if slope else float("nan")


def impact_ball_later(signals: Signals, events: Events) -> Measure:
    """The ball's leaving less the putter's impact (s, + when the ball left later). ``reason`` speaks up beyond AGREE_S."""
    impact = events.impact_s
    if impact is None:
        return Measure(None, "s", 0.0, "impact not seen")
    found = left_s(signals, impact)
    if found is None:
        return Measure(None, "s", 0.0, "the ball was not seen to leave its place")
    when, doubt_s, seen = found
    later = when - impact
    confidence = seen * float(np.clip(1 - doubt_s / DOUBTFUL_S, 0, 1))
    return Measure(later, "s", confidence, "" if abs(later) <= AGREE_S else disagreement(later))


def disagreement(later_s: float) -> str:
    """In words."""
    when = "after" if later_s > 0 else "before"
    return f"the ball left {abs(later_s) * 1000:.0f} ms {when} the putter came to its address place"
