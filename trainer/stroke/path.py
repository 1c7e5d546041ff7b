"""The path along the line that stands for the putter head: its own, bridged by the hands where it was out of sight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Floats, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import smooth
from trainer.stroke.signals import line_px, rough_cm_per_px

FINE_HZ = 12.0  # cut-off for places
PUTTER_SHARE = 0.6  # of the samples that must show the putter; else the hands stand in for all of it
LEAST_SAMPLES = 8
HANDS_HZ = 5.0  # the hands' noise, enlarged, would look like a putter that does not come to rest
WAGGLED_CM = 2.0  # what wanders more before takeaway is a waggle: the address place is where it paused
MIX_S = 0.6  # the hands' share of the putter's motion is learnt from so much on either side of a gap


@dataclass(frozen=True)
class Path:
    """Rough cm from the address place, (n,) each: x_cm smoothed, raw_cm as seen. source: "putter" or "hands".

    seen: samples that showed the source itself; the others of raw_cm are NaN, or bridged.
    """

    time_s: Floats
    x_cm: Floats
    raw_cm: Floats
    seen: npt.NDArray[np.bool_]
    source: str
    scale: float

    @property
    def seen_cm(self) -> Floats:
        """raw_cm where the source itself was seen, NaN elsewhere."""
        return np.where(self.seen, self.raw_cm, np.nan)


def path_of(signals: Signals, takeaway_s: float) -> Path | None:
    """The path with its zero at the address place just before takeaway; None when neither putter nor hands were seen."""
    source = "putter" if np.isfinite(line_px(signals, "putter")).mean() > PUTTER_SHARE else "hands"
    scale = rough_cm_per_px(signals)
    t, raw = signals.time_s, line_px(signals, source) * scale
    seen = np.isfinite(raw)
    if seen.sum() < LEAST_SAMPLES:
        return None
    for k in _jumps(t, raw, takeaway_s):
        raw[: k + 1] += raw[k + 1] - raw[k]  # found anew at address: what came before is moved to where it is now
    if source == "putter":
        hands = line_px(signals, "hands") * scale
        calm = smooth(t, hands, HANDS_HZ) if np.isfinite(hands).sum() >= LEAST_SAMPLES else hands
        raw = bridged(t, raw, np.where(np.isfinite(hands), calm, np.nan))
    at = (t >= takeaway_s - 0.4) & (t <= takeaway_s - 0.1) & np.isfinite(raw)
    pause = (t >= takeaway_s - th.PAUSE_S) & (t <= takeaway_s) & np.isfinite(raw)
    if at.any() and pause.any() and np.ptp(np.percentile(raw[at], (20, 80))) > WAGGLED_CM:
        at = pause
    if not at.any():
        at = np.isfinite(raw) & (t < takeaway_s)
    base = float(np.median(raw[at])) if at.any() else float(raw[np.isfinite(raw)][0])
    return Path(t, smooth(t, raw, FINE_HZ) - base, raw - base, seen, source, scale)


def _jumps(t: Floats, raw: Floats, takeaway_s: float) -> list[int]:
    """Samples after which the putter head's place was found anew while it lay still: a step between two rests, which no
    motion is; a quick backstroke steps as far, but its neighbours step too."""
    step = np.abs(np.nan_to_num(np.diff(raw)))
    around = np.maximum(np.concatenate([[0.0], step[:-1]]), np.concatenate([step[1:], [0.0]]))
    found = (step > th.JUMP_CM) & (around < 0.2 * step) & (np.diff(t) < th.JUMP_S) & (t[1:] < takeaway_s + 0.1)
    return [int(k) for k in np.flatnonzero(found)]


def bridged(time_s: Floats, putter: Floats, hands: Floats) -> Floats:
    """The putter's places with gaps longer than HANDS_CARRY_S filled by the hands' motion, enlarged as it is beside the gap.

    Filled places join what was seen at the gap's ends: the difference there is shared out along the gap. A putter not
    seen at first, or not to the end, is joined at the one end there is. Shorter gaps are left to interpolation.
    """
    out = putter.copy()
    missing = np.isnan(putter)
    starts = np.flatnonzero(missing & ~np.r_[False, missing[:-1]])
    stops = np.flatnonzero(missing & ~np.r_[missing[1:], False]) + 1
    for i, j in zip(starts.tolist(), stops.tolist(), strict=True):
        before, after = i - 1, j
        first, last = time_s[max(before, 0)], time_s[min(after, len(out) - 1)]
        joins = [k for k in (before, after) if 0 <= k < len(out) and np.isfinite(hands[k])]
        if last - first < th.HANDS_CARRY_S or not joins or (before >= 0 and joins[0] != before):
            continue
        beside = (time_s > first - MIX_S) & (time_s < last + MIX_S)
        both = beside & np.isfinite(putter) & np.isfinite(hands)
        gain = th.PUTTER_PER_HANDS
        if both.sum() >= LEAST_SAMPLES and np.ptp(hands[both]) > 1.0:
            gain = float(np.clip(np.polyfit(hands[both], putter[both], 1)[0], 1.0, 5.0))
        gap = np.arange(i, j)
        filled = putter[joins[0]] + gain * (hands[gap] - hands[joins[0]])
        if len(joins) == 2:
            off = putter[after] - putter[before] - gain * (hands[after] - hands[before])
            filled += off * (time_s[gap] - time_s[before]) / (time_s[after] - time_s[before])
        out[gap] = filled
    return out
