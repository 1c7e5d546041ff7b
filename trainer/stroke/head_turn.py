"""The head's turn through one stroke, worked out once, and what looks it holds by any limit."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Floats, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.filters import crossing_s

# A look this near to the putter's rest, before it or after, is called neither early nor held: about what settle and look are off
# by, each on its own, on rendered clips (up to 46 ms), taken together.
NEAR_REST_S = 0.06
# Nobody looks away from where the ball goes, so a head that seems to is believed only where it is seen very surely: two rendered
# heads under hair over the face were seen to, with 0.27 to 0.67, as they turned by 17 and 28 degrees toward it. A look that began
# before the rest is seen, late, up to so long after it.
AWAY_DEG, SURELY_AWAY, AFTER_REST_S = th.LOOK_DEG / 2, 0.8, 0.5
# A head that is seen to stay, but on the mean of that time with less: of turned heads so little sure half are read wrong
# (trainer/vision/head/STUDY.md, "Confidence"). A rendered cap turned by 22 degrees was read as 5, with 0.3 to 0.5.
SURELY_THERE = 0.5


class HeadTurn:
    """change: head turn since address at each sample (deg), single outliers removed; NaN where not seen."""

    def __init__(self, signals: Signals, takeaway_s: float) -> None:
        self.time_s, self.takeaway_s = signals.time_s, takeaway_s
        self.change = turn_change(signals, takeaway_s)
        seen = np.isfinite(self.change)
        self._t, self._turn = self.time_s[seen], self.change[seen]

    def look(self, look_deg: float) -> float | None:
        """When the turn passes look_deg toward the target after takeaway and stays past it for LOOK_STAYS_S."""
        t, turn = self._t, self._turn
        if len(t) < 2:
            return None
        first = _index(t, self.takeaway_s)
        passes = np.flatnonzero((turn[first:-1] <= look_deg) & (turn[first + 1 :] > look_deg)) + first
        for k in passes:
            when = crossing_s((t[k], turn[k]), (t[k + 1], turn[k + 1]), look_deg)
            # After a gap longer than the time to stay, staying begins with the first sample.
            begins = when if t[k + 1] <= when + th.LOOK_STAYS_S else t[k + 1]
            stays = (t > when) & (t <= begins + th.LOOK_STAYS_S + 1e-9)
            if t[-1] >= begins + 0.6 * th.LOOK_STAYS_S and np.all(turn[stays] > look_deg):
                return float(when)
        return None


def seen_until(time_s: Floats, turn: Floats, rest_s: float | None) -> bool:
    """Whether the turn was seen when the putter came to rest, or after: else a look before it may have gone unseen. turn: NaN
    where it was not seen."""
    return rest_s is None or bool(np.isfinite(turn[time_s >= rest_s - NEAR_REST_S]).any())


def away_confidence(turn: Floats, confidence: Floats) -> float:
    """How surely a head is seen that seems to turn away from the target by half a look or more: as a rule it is one that turns
    toward the target and is seen the other way round. 1 where it does not, 0 where it does and is not surely seen."""
    away = turn < -AWAY_DEG
    if np.count_nonzero(away) < 2:
        return 1.0
    seen = float(np.mean(confidence[away]))
    return seen if seen >= SURELY_AWAY else 0.0


def there_confidence(confidence: Floats) -> float:
    """How surely a head was seen that told no look: 0 where it may have turned and been read as if it had not."""
    return 1.0 if confidence.size == 0 or float(np.mean(confidence)) >= SURELY_THERE else 0.0


def told_confidence(turning: HeadTurn, confidence: Floats, settle_s: float, look_s: float | None) -> float:
    """How far what the head did until half a second after settle_s may be believed, whatever was seen in the stroke."""
    time_s, turn, end_s = turning.time_s, turning.change, settle_s + AFTER_REST_S
    late = (time_s >= turning.takeaway_s) & (time_s <= end_s)
    sure = away_confidence(turn[late], confidence[late])
    if look_s is None or look_s > end_s:
        late &= time_s >= settle_s - NEAR_REST_S
        sure = min(sure, there_confidence(confidence[late]))
    return sure


def turn_change(signals: Signals, takeaway_s: float) -> Floats:
    """Head turn since address at each sample (deg), single outliers removed; NaN where not seen."""
    t, turn = signals.time_s, signals["head_turn_deg"].copy()
    turn[signals["head_turn_conf"] < 0.2] = np.nan
    at = (t >= takeaway_s - th.ADDRESS_S[0]) & (t <= takeaway_s - th.ADDRESS_S[1]) & np.isfinite(turn)
    if not at.any():
        return np.full_like(turn, np.nan)
    turn = turn - np.median(turn[at])
    before, after = np.concatenate([turn[:1], turn[:-1]]), np.concatenate([turn[1:], turn[-1:]])
    # The median of three without a sort. A NaN among the three makes it NaN, and then the sample itself stands.
    low, high = np.minimum(before, turn), np.maximum(before, turn)
    middle = np.maximum(low, np.minimum(high, after))
    return np.where(np.isfinite(middle), middle, turn)


def _index(t: Floats, time_s: float) -> int:
    return int(min(max(int(np.searchsorted(t, time_s)), 0), len(t) - 1))
