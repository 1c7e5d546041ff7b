"""Whether the putter head, or the hands where no putter is seen, has been still for a while."""

from __future__ import annotations

import math
from typing import Iterable, NamedTuple

from trainer.stroke.sample import Sample

LEAST_ROWS = 4
SEEN_SHARE = 0.8


class Still(NamedTuple):
    """Where it rests (px along, the median) and whether that is the "putter" or the "hands"."""

    place_px: float
    source: str


def still(newest_first: Iterable[Sample], span_s: float, range_px: float) -> Still | None:
    """None unless the rows of the last span_s lie within range_px of each other; one outlier at each end is let pass."""
    rows: list[Sample] = []
    whole = False
    for row in newest_first:
        if rows and row.time_s < rows[0].time_s - span_s - 1e-9:
            whole = True
            break
        rows.append(row)
    if len(rows) < LEAST_ROWS or not (whole or rows[0].time_s - rows[-1].time_s >= span_s - 1e-9):
        return None
    for source in ("putter", "hands"):
        places = [row.x_px(source) for row in rows]
        if math.isnan(places[0]):
            continue
        seen = sorted(x for x in places if not math.isnan(x))
        if len(seen) < SEEN_SHARE * len(rows):
            continue
        spread = seen[-2] - seen[1] if len(seen) > 6 else seen[-1] - seen[0]
        middle = (seen[(len(seen) - 1) // 2] + seen[len(seen) // 2]) / 2
        return Still(middle, source) if spread < range_px else None
    return None
