"""How much later the click comes than the picture's impact: learned from a session's strokes, and from sessions before.

Any sound about a stroke may be the ball's. Those of all strokes are looked at together: the ball's come at one delay, with one
loudness in each band, others at any time with any. A mixture of the two, fitted by expectation and maximisation (Dempster, Laird
and Rubin 1977, from memory), tells how likely each is the ball's and what the delay and the click are like.
"""

from __future__ import annotations

import math
import statistics
from dataclasses import dataclass
from typing import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

LEARNED_FROM = 3  # strokes that agree
AGREE_S = 0.012  # sessions whose delays differ by more are of other modes of the camera
NEAR_S = 0.008  # strokes agree whose sounds lie within so much
OTHERS_S = 0.3  # a sound that is not the ball's comes anywhere within so long,
OTHERS_SHARE = 0.1  # and is all that is heard in so many strokes
USUAL_SD_S, USUAL_STROKES = 0.0035, 3.0  # of single strokes (``tests.bench.impact_sound``), counts as so many of them
# Of one player's clicks (no source): how loud they are differs with the length of the putt, how bright they are less. Of others.
LOUD_SD_DB, BRIGHT_SD_DB, OTHERS_SD_DB = 6.0, 4.0, 12.0
ONSET_SD_S = 0.001  # of a click found in noise (``tests/unit/hearing``)
ROUNDS = 12
SPREAD = 3.0  # standard deviations
SESSIONS = 10  # that are looked back to
# From session to session the delay differs by its own spread, and as if one session more had been so far off: light changes the
# exposure, a sound card is opened anew (no source).
DRIFT_S = 0.003


@dataclass(frozen=True, slots=True)
class Delay:
    """Click less the picture's impact. sd_s: of the value; spread_s: of single strokes."""

    value_s: float
    sd_s: float
    spread_s: float
    strokes: int


@dataclass(frozen=True, slots=True)
class Sound:
    """One that was heard about a stroke: how much later than the picture's impact, how plain, how loud in each band."""

    later_s: float
    strength_db: float
    levels_db: tuple[float, ...] = ()


@dataclass(frozen=True)
class ClickKind:
    """What the ball's click is like, and how much that differs: how loud, and from each band to the next how much louder."""

    usual_db: Floats
    sd_db: Floats

    def gain_db(self, levels_db: Sequence[float] | Floats) -> Floats:
        """How much more likely such a sound is the ball's than another: 10 log10 of the ratio."""
        off = _like_db(np.asarray(levels_db, np.float64)) - self.usual_db
        ratio = 0.5 * (off / OTHERS_SD_DB) ** 2 - 0.5 * (off / self.sd_db) ** 2 + np.log(OTHERS_SD_DB / self.sd_db)
        return np.asarray(10 / math.log(10) * ratio.sum(axis=-1))


@dataclass(frozen=True)
class Learned:
    """By one session. kind: None where no bands were told."""

    delay: Delay
    kind: ClickKind | None


def learned(strokes: Sequence[Sequence[Sound]]) -> Learned | None:
    """From all that was heard about each stroke; None until enough of them agree."""
    heard = [(k, sound) for k, sounds in enumerate(strokes) for sound in sounds]
    if len({k for k, _ in heard}) < LEARNED_FROM:
        return None
    of = np.array([k for k, _ in heard])
    later = np.array([sound.later_s for _, sound in heard])
    plain = 10 ** (np.array([sound.strength_db for _, sound in heard]) / 20)
    plain /= np.bincount(of, plain, len(strokes))[of]
    bands = {len(sound.levels_db) for _, sound in heard}
    levels = np.array([sound.levels_db for _, sound in heard]) if len(bands) == 1 and 0 not in bands else None
    near = np.abs(later[:, None] - later[None, :]) <= NEAR_S
    middle = float(later[int(np.argmax(near @ plain))])
    spread, share, kind = USUAL_SD_S, plain * (np.abs(later - middle) <= NEAR_S), None
    for _ in range(ROUNDS):
        count = float(share.sum())
        if count < 0.5:
            return None
        middle = float(share @ later) / count
        varied = float(share @ (later - middle) ** 2) + USUAL_STROKES * USUAL_SD_S**2
        spread = max(math.sqrt(varied / (count + USUAL_STROKES)), ONSET_SD_S)
        kind = _kind(share, levels) if levels is not None else None
        odds = np.exp(-0.5 * ((later - middle) / spread) ** 2) / (spread * math.sqrt(2 * math.pi))
        odds *= plain if kind is None or levels is None else 10 ** (kind.gain_db(levels) / 10)
        share = odds / (np.bincount(of, odds, len(strokes)) + OTHERS_SHARE / OTHERS_S)[of]
    count = float(share.sum())
    if count < max(LEARNED_FROM - 0.5, 0.5 * len(strokes)):
        return None
    return Learned(Delay(middle, spread / math.sqrt(count), spread, round(count)), kind)


def _like_db(levels: Floats) -> Floats:
    """Loudness by band (the last axis) to loudness and brightness."""
    return np.concatenate([levels.mean(axis=-1, keepdims=True), np.diff(levels)], axis=-1)


def _kind(share: Floats, levels: Floats) -> ClickKind:
    count, like = float(share.sum()), _like_db(levels)
    middle = share @ like / count
    usual_sd = np.array([LOUD_SD_DB, *[BRIGHT_SD_DB] * (like.shape[1] - 1)])
    varied = share @ (like - middle) ** 2 + USUAL_STROKES * usual_sd**2
    return ClickKind(middle, np.minimum(np.sqrt(varied / (count + USUAL_STROKES)), OTHERS_SD_DB))


def together(before: Delay, own: Delay) -> Delay:
    """By their own uncertainties; a session that contradicts those before stands alone."""
    off_s = own.value_s - before.value_s
    if abs(off_s) > SPREAD * math.hypot(before.sd_s, own.sd_s):
        return own
    weight = before.sd_s**2 / (before.sd_s**2 + own.sd_s**2)
    return Delay(before.value_s + weight * off_s, math.sqrt(weight) * own.sd_s, own.spread_s, own.strokes)


def expected(sessions: Sequence[Delay]) -> Delay | None:
    """Of the next session, from those before, the last one last. Those before another camera or mode came do not count."""
    last: list[Delay] = []
    for one in reversed(sessions[-SESSIONS:]):
        if abs(one.value_s - sessions[-1].value_s) > AGREE_S:
            break
        last.append(one)
    if not last:
        return None
    middle = statistics.fmean(one.value_s for one in last)
    drift_s = math.sqrt((DRIFT_S**2 + sum((one.value_s - middle) ** 2 for one in last)) / len(last))
    weights = [1 / (one.sd_s**2 + drift_s**2) for one in last]
    value = sum(w * one.value_s for w, one in zip(weights, last)) / sum(weights)
    spread_s = statistics.median(one.spread_s for one in last)
    return Delay(value, math.sqrt(drift_s**2 + 1 / sum(weights)), spread_s, sum(one.strokes for one in last))
