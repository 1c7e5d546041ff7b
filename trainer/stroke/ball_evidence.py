"""Whether a ball lay by the putter at address and lies there still: one rule for the live tracker and the record."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from trainer.domain.record import Floats

BEFORE_S, MIN_SHARE = 1.0, 0.4  # the ball seen in this share of so long before takeaway
LAST_S, LAST_SHARE = 0.25, 0.9  # or, found late, in this share of so long: a glint is not seen that steadily
NEAR_CM = (9.0, 5.0)  # from the putter head at address, along and up in the picture
MOVED_CM = 2.5
THERE_SHARE = 0.35  # still at its place in more of the samples after impact: it was not struck


class BallAtAddress(NamedTuple):
    """Where the ball lay before the stroke: along or across, and up."""

    aside_px: float
    up_px: float

    def beside(self, cm_per_px: float, along_px: float, up_px: float = math.nan) -> bool:
        """Face-on: whether it lay by the putter head at this place; what was not seen speaks against nothing."""
        off = abs(self.aside_px - along_px) * cm_per_px, abs(self.up_px - up_px) * cm_per_px
        return not any(cm >= limit for cm, limit in zip(off, NEAR_CM, strict=True))


def ball_at_address(time_s: Floats, aside_px: Floats, up_px: Floats, takeaway_s: float) -> BallAtAddress | None:
    """From the ball's places (n,), NaN where it was not seen. None: no ball lay there."""
    before = (time_s < takeaway_s) & (time_s > takeaway_s - BEFORE_S)
    seen = before & np.isfinite(aside_px)
    last = before & (time_s > takeaway_s - LAST_S)
    if not seen.any() or (seen.sum() < MIN_SHARE * before.sum() and (seen & last).sum() < LAST_SHARE * last.sum()):
        return None
    return BallAtAddress(float(np.median(aside_px[seen])), float(np.median(up_px[seen])))
