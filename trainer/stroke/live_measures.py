"""Causal measures while a stroke is under way: change since address of turn, hinge and head place, and speeds."""

from __future__ import annotations

import math
from collections import deque
from statistics import median
from typing import Callable, Iterable, Sequence

import numpy as np

from trainer.stroke import thresholds as th
from trainer.stroke.angles import Grip, grip_at, row_hinge_deg
from trainer.stroke.filters import crossing_s
from trainer.stroke.sample import Sample

SPEED_S = 0.1  # speeds are slopes over this much of the past
MIN_TURN_CONF = 0.3


_ARM = tuple(
    f"{name}_{axis}_px" for name in ("lead_shoulder", "lead_elbow", "lead_wrist", "putter") for axis in ("along", "up")
)


def _grip(rows: Sequence[Sample]) -> Grip:
    """The point of the grip that the arm's direction goes to, by the rows at address."""
    columns = {name: np.array([r.columns[name] for r in rows]) for name in (*_ARM, "shaft_deg")}
    return grip_at(columns, np.ones(len(rows), dtype=bool))


def _median(rows: Iterable[Sample], value: Callable[[Sample], float]) -> float:
    seen = [v for r in rows if not math.isnan(v := value(r))]
    return float(median(seen)) if seen else math.nan


class LiveMeasures:
    """Made at takeaway from the rows so far (scale: rough cm per px); ``update`` with every row after."""

    def __init__(self, rows: Iterable[Sample], takeaway_s: float, source: str, scale: float) -> None:
        first, last = takeaway_s - th.ADDRESS_S[0], takeaway_s - th.ADDRESS_S[1]
        at = [r for r in rows if first <= r.time_s <= last]
        self._source, self._scale = source, scale
        self._turn0 = _median(at, lambda r: r.columns["head_turn_deg"])
        self._grip = grip = _grip(at)
        self._hinge0 = _median(at, lambda r: row_hinge_deg(r.columns, grip))
        self._along0 = _median(at, lambda r: r.columns["head_along_px"])
        self._up0 = _median(at, lambda r: r.columns["head_up_px"])
        self._recent: deque[Sample] = deque(maxlen=16)
        self._hinges: deque[float] = deque(maxlen=3)
        self._rest_cm_s = th.SETTLE_CM_S if source == "putter" else th.HANDS_SETTLE_CM_S
        self._fast: tuple[float, float] | None = None
        self.still_since: float | None = None
        self._over_since: float | None = None
        self.look_since: float | None = None
        self.turn_deg: float | None = None
        self.turn_conf = 0.0
        self.hinge_deg: float | None = None
        self.hinge_conf = 0.0
        self.speed_cm_s: float | None = None
        self.hands_speed_cm_s: float | None = None
        self.sway_cm: float | None = None
        self.lift_cm: float | None = None
        self._putter_conf_sum, self._row_count = 0.0, 0

    def update(self, row: Sample, look_deg: float) -> None:
        """The measures at this row."""
        c = row.columns
        self._recent.append(row)
        self._putter_conf_sum += 0.0 if math.isnan(c["putter_conf"]) else c["putter_conf"]
        self._row_count += 1
        self.speed_cm_s = self._speed(self._source)
        self.hands_speed_cm_s = self.speed_cm_s if self._source == "hands" else self._speed("hands")
        self._watch_rest(row.time_s)
        turn = c["head_turn_deg"] - self._turn0
        self.turn_deg = None if math.isnan(turn) else turn
        self.turn_conf = 0.0 if math.isnan(turn) else c["head_turn_conf"]
        self._watch_look(row.time_s, turn, look_deg)
        self._hinges.append(row_hinge_deg(c, self._grip) - self._hinge0)
        seen = [h for h in self._hinges if not math.isnan(h)]
        self.hinge_deg = float(median(seen)) if len(seen) >= 2 else None
        # The angle may be that of the two rows before, the confidence is this row's.
        sure = min(0.0 if math.isnan(conf) else conf for conf in (c["forearm_conf"], c["putter_conf"]))
        self.hinge_conf = 0.0 if self.hinge_deg is None else sure
        scale = c["body_cm_per_px"]
        sway, lift = (c["head_along_px"] - self._along0) * scale, (c["head_up_px"] - self._up0) * scale
        self.sway_cm = None if math.isnan(sway) else sway
        self.lift_cm = None if math.isnan(lift) else lift

    @property
    def putter_conf(self) -> float:
        """Mean confidence of the putter since takeaway, unseen rows counting nothing."""
        return self._putter_conf_sum / self._row_count if self._row_count else 0.0

    def _watch_rest(self, time_s: float) -> None:
        """Since when the speed has been that of rest, between frames; a speed over SPEED_S is that of its middle."""
        speed, limit = self.speed_cm_s, self._rest_cm_s
        if speed is None:
            return
        if speed >= limit:
            self._fast, self.still_since = (time_s, speed), None
        elif self.still_since is None:
            self.still_since = crossing_s(self._fast or (time_s, speed), (time_s, speed), limit) - SPEED_S / 2

    def _watch_look(self, time_s: float, turn: float, look_deg: float) -> None:
        if math.isnan(turn) or self.turn_conf < MIN_TURN_CONF:
            return
        if turn <= look_deg:
            self._over_since = None
            return
        self._over_since = time_s if self._over_since is None else self._over_since
        if self.look_since is None and time_s - self._over_since >= th.LOOK_STAYS_S - 1e-9:
            self.look_since = self._over_since

    def _speed(self, source: str) -> float | None:
        now = self._recent[-1].time_s
        pairs = [(r.time_s, r.x_px(source) * self._scale) for r in self._recent if r.time_s >= now - SPEED_S - 1e-9]
        pairs = [(t, x) for t, x in pairs if not math.isnan(x)]
        if len(pairs) < 2:
            return None
        t, x = np.array(pairs).T
        t = t - t.mean()
        return float(abs((t @ x) / (t @ t)))
