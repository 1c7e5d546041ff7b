"""Hands past the lead leg: how far the hands have gone beyond the lead ankle at the putter head's finish."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Events, Measure, Signals
from trainer.stroke.signals import cm_per_px

AROUND_S = 0.06  # the middle of what was seen this long before and after the finish: one noisy frame does not matter


def hands_past_leg(signals: Signals, events: Events) -> Measure:
    """Hands less lead ankle along the line (cm, + toward the target) at the finish. Scale: the body's own plane."""
    if signals.view != "face-on":
        return Measure(None, "cm", 0.0, "lengths along the line are measured face-on only")
    finish = events.finish_s
    if finish is None:
        return Measure(None, "cm", 0.0, "finish not seen")
    scale = cm_per_px(signals, "body") or cm_per_px(signals, "ball")
    if scale is None:
        return Measure(None, "cm", 0.0, "no size reference: neither ball nor height known")
    near = np.abs(signals.time_s - finish) <= AROUND_S
    # The foot stays where it is: its place over the whole stroke is surer than in one frame.
    ankle = signals["lead_ankle_along_px"]
    gap = signals["hands_along_px"][near]
    gap = gap[np.isfinite(gap)]
    if gap.size == 0 or not np.isfinite(ankle).any():
        return Measure(None, "cm", 0.0, "hands or lead leg not seen at the finish")
    seen = float(np.nan_to_num(signals["hands_conf"][near]).mean()) * min(1.0, 2 * float(np.isfinite(ankle).mean()))
    return Measure(float(np.median(gap) - np.nanmedian(ankle)) * scale, "cm", seen)
