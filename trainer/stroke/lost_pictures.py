"""Pictures of a stroke that never came, as the gaps in their numbers say: too few are left to be sure of anything in it."""

from __future__ import annotations

from itertools import islice, pairwise
from typing import Iterable

import numpy as np

from trainer.domain.record import Events, Signals
from trainer.stroke.sample import Rows
from trainer.texts import tr

WHY = tr("too many pictures of it were lost")
# Of a clip thinned at random every verdict stayed right with gaps up to 0.23 s; beyond, its own numbers were mostly not sure.
LONGEST_S = 0.2
AROUND_S = 0.1  # before takeaway and after rest too


def after_gap(rows: Rows) -> bool:
    """Whether too many pictures were lost before the newest row."""
    newest = islice(reversed(rows), 2)
    return too_far_apart([(row.index, row.time_s) for row in newest][::-1])


def too_far_apart(rows: Iterable[tuple[int, float]]) -> bool:
    """Whether between two of these, (number, time), pictures were lost for so long that what happened there is not known."""
    return any(b > a + 1 and then_s - s > LONGEST_S for (a, s), (b, then_s) in pairwise(rows))


def why_unsure(signals: Signals, events: Events) -> str:
    """In words; empty where enough of its pictures came."""
    first_s = events.takeaway_s if events.takeaway_s is not None else float(signals.time_s[0])
    last_s = events.settle_s if events.settle_s is not None else float(signals.time_s[-1])
    t = signals.time_s
    # With the row on either side: pictures may be lost across where it begins to count.
    begin, end = np.searchsorted(t, first_s - AROUND_S) - 1, np.searchsorted(t, last_s + AROUND_S, "right") + 1
    rows = zip(signals.index[max(begin, 0) : end].tolist(), t[max(begin, 0) : end].tolist(), strict=True)
    return WHY if too_far_apart(rows) else ""
