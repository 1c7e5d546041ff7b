"""The live state machine: one sighting in, one moment out; a finished stroke comes out once as a record.

All times come from the sightings; rates from 15 to 120 a second and dropped frames change nothing but the resolution.
"""

from __future__ import annotations

import math
from collections import deque
from itertools import takewhile
from typing import Mapping

import numpy as np

from trainer.stroke import phases as ph
from trainer.stroke.build import build_record
from trainer.stroke.live import LiveMeasures
from trainer.stroke.record import EventName, Moment, Phase, StrokeRecord
from trainer.stroke.rows import Row, hips_along_px, ready_posture, rough_scale
from trainer.stroke.signals import row_of, signals_of
from trainer.stroke.stillness import Still, still
from trainer.vision.sighting import Sighting

KEPT_S = 14.0


class Tracker:
    """Feed sightings in order of time. ``finish`` when no more come; ``reset`` for another player."""

    def __init__(self, look_deg: float = ph.LOOK_DEG) -> None:
        self.look_deg = look_deg
        self.reset()

    def reset(self) -> None:
        """Forgets everything."""
        self.phase: Phase = "away"
        self._rows: deque[Row] = deque()
        self._seen_s = -math.inf
        self._view = "face-on"
        self._scale = 0.45
        self._finish: tuple[float, float] | None = None
        self._forget_stroke()

    def _forget_stroke(self) -> None:
        self._source = "putter"
        self._base = math.nan
        self._rested_s = math.nan
        self._hips = math.nan
        self._takeaway_s = math.nan
        self._low, self._low_s = math.inf, math.nan
        self._high, self._high_s = -math.inf, math.nan
        self._events: dict[EventName, float] = {}
        self._still_since: float | None = None
        self._through = False
        self._settled_at = math.nan
        self._off_since: float | None = None
        self._live: LiveMeasures | None = None

    # -- one sighting ---------------------------------------------------------------------------------------------
    def update(self, sighting: Sighting) -> Moment:
        """One sighting on; times must increase."""
        self._view = sighting.view
        return self.update_row(sighting.index, sighting.time_s, row_of(sighting))

    def update_row(self, index: int, time_s: float, columns: Mapping[str, float], view: str | None = None) -> Moment:
        """The same from a recorded row (``signals.rows_of``)."""
        self._view = view or self._view
        row = Row(index, time_s, columns)
        if self.phase in ("away", "setting", "walked_off"):
            self._scale = rough_scale(columns, self._view)
        self._rows.append(row)
        horizon = time_s - KEPT_S
        while self._rows[0].time_s < horizon:
            self._rows.popleft()
        before = set(self._events)
        if self._live is not None:
            self._live.update(row, self.look_deg)
        closed = self._step(row)
        new = tuple(e for e in self._events if e not in before)
        return self._moment(row, new, closed)

    def finish(self) -> StrokeRecord | None:
        """No more sightings: the stroke under way if its impact has passed, else None."""
        record = self._close() if self.phase in ("follow", "hold", "looked") and self._through else None
        self.phase = "away"
        self._forget_stroke()
        return record

    def _go(self, phase: Phase) -> None:
        assert phase in ph.FOLLOWS[self.phase], f"{self.phase} -> {phase}"
        self.phase = phase

    def _step(self, row: Row) -> StrokeRecord | None:
        if row.body:
            self._seen_s = row.time_s
        gone = row.time_s - self._seen_s > ph.LOST_S
        if self.phase in ("away", "walked_off"):
            if row.body:
                self._forget_stroke()
                self._go("setting")
            elif self.phase == "walked_off":
                self._go("away")
        elif self.phase in ("follow", "hold", "looked"):
            return self._after_impact(row, gone)
        elif gone:
            self._finish = None
            self._forget_stroke()
            self.phase = "away"
        elif self.phase == "setting":
            self._settle_down(row)
        elif self.phase == "address":
            self._stand(row)
        elif self.phase == "backstroke":
            self._swing_back(row)
        elif self.phase == "forward":
            self._swing_forward(row)
        return None

    # -- before the stroke ----------------------------------------------------------------------------------------
    def _still(self, span_s: float, range_cm: float) -> Still | None:
        return still(reversed(self._rows), span_s, range_cm / self._scale)

    def _rest_at(self, found: Still, row: Row) -> None:
        """The address place, with the ruler of this very row: a better ruler later moves nothing."""
        self._scale = rough_scale(row.columns, self._view)
        self._base, self._source = found.place_px * self._scale, found.source
        self._rested_s = row.time_s

    def _settle_down(self, row: Row) -> None:
        found = self._still(ph.STILL_S, ph.STILL_CM)
        if found is not None and self._finish is not None:
            place, reach = self._finish  # the putter held out after a stroke is no address
            if abs(found.place_px * self._scale - place) < reach:
                return
        if found is not None and ready_posture(row, self._view):
            self._finish = None
            self._forget_stroke()
            self._rest_at(found, row)
            self._go("address")

    def _stand(self, row: Row) -> None:
        x = self._x(row)
        before = self._rows[-2] if len(self._rows) > 1 else row
        jump = x - self._x(before)
        if abs(jump) > ph.JUMP_CM and row.time_s - before.time_s < ph.JUMP_S:
            self._base += jump
            return
        found = self._still(ph.STILL_S, ph.STILL_CM)
        changed = found is not None and found.source != self._source
        if found is not None and (changed or abs(found.place_px * self._scale - self._base) < ph.JUMP_CM):
            if not changed or found.source == "putter":
                self._rest_at(found, row)
            return
        if row.time_s - self._rested_s > ph.RESTLESS_S:
            self._forget_stroke()
            self._go("setting")
            return
        if math.isnan(x):
            return
        if x < self._base - ph.TAKEAWAY_CM:
            self._takeaway_s = self._crossed(self._base - ph.TAKEAWAY_CM)
            self._events = {"takeaway_s": self._takeaway_s}
            self._low, self._low_s = x, row.time_s
            self._live = LiveMeasures(self._rows, self._takeaway_s, self._source, self._scale)
            self._hips = self._hips_at(row.time_s)
            self._go("backstroke")
        elif x > self._base + 2.0:
            self._forget_stroke()
            self._go("setting")

    def _x(self, row: Row) -> float:
        """Place along the line (rough cm) of what stands for the putter head; NaN when not seen."""
        return row.x_px(self._source) * self._scale

    def _hips_at(self, time_s: float) -> float:
        """Middle of the hips along the line around this time (cm); NaN when not seen."""
        near = takewhile(lambda r: r.time_s >= time_s - ph.AROUND_S, reversed(self._rows))
        seen = [h for r in near if r.time_s <= time_s + ph.AROUND_S and not math.isnan(h := hips_along_px(r))]
        return float(np.median(seen)) * self._scale if seen else math.nan

    def _carried(self, until_s: float, way_cm: float) -> bool:
        """Whether the whole player moved along with the putter from takeaway on: swaying or walking, no stroke."""
        return abs(self._hips_at(until_s) - self._hips) > max(ph.CARRIED_CM, ph.CARRIED_SHARE * way_cm)

    def _crossed(self, level: float) -> float:
        """Time at which the along signal last crossed the level, between the last two rows that showed it."""
        seen = [(r.time_s, self._x(r)) for r in list(self._rows)[-8:]]
        seen = [(t, x) for t, x in seen if not math.isnan(x)]
        (t0, a), (t1, b) = seen[-2:] if len(seen) > 1 else (seen[-1], seen[-1])
        if a == b or not min(a, b) <= level <= max(a, b):
            return t1
        return t0 + (level - a) / (b - a) * (t1 - t0)

    # -- the stroke -----------------------------------------------------------------------------------------------
    def _swing_back(self, row: Row) -> None:
        x = self._x(row)
        if not math.isnan(x):
            if x < self._low:
                self._low, self._low_s = x, row.time_s
            depth = self._base - self._low
            back_again = x - self._low
            if depth < ph.BACKSTROKE_CM and x > self._base - 0.6 * ph.TAKEAWAY_CM:
                self._events = {}
                self._go("address")
                return
            if depth >= ph.BACKSTROKE_CM and back_again > max(ph.TURN_CM, ph.TURN_SHARE * depth):
                if self._low_s - self._takeaway_s < ph.MIN_BACK_S or self._carried(self._low_s, depth):
                    self._forget_stroke()
                    self._go("setting")
                    return
                self._events["top_s"] = self._low_s
                self._go("forward")
                self._swing_forward(row)
                return
        restart = self._still(ph.RESTART_STILL_S, ph.RESTART_STILL_CM)
        if restart is not None or row.time_s - self._takeaway_s > ph.MAX_BACK_S:
            self._forget_stroke()
            self._go("setting")

    def _swing_forward(self, row: Row) -> None:
        x = self._x(row)
        if "impact_s" not in self._events:
            if not math.isnan(x) and x < self._low:
                self._events.pop("top_s", None)
                self._low, self._low_s = x, row.time_s
                self._go("backstroke")
            elif not math.isnan(x) and x >= self._base:
                impact = self._crossed(self._base)
                if impact - self._takeaway_s < ph.MIN_TO_IMPACT_S:
                    self._forget_stroke()
                    self._go("setting")
                    return
                self._events["impact_s"] = impact
                self._high, self._high_s = x, row.time_s
            elif self._still(ph.RESTART_STILL_S, ph.RESTART_STILL_CM) is not None or (
                row.time_s - self._low_s > ph.MAX_BACK_S
            ):
                self._forget_stroke()
                self._go("setting")
                return
        if "impact_s" in self._events:
            if not math.isnan(x) and x > self._high:
                self._high, self._high_s = x, row.time_s
            need = max(ph.THROUGH_CM, ph.THROUGH_SHARE * (self._base - self._low))
            if self._high - self._base >= need and self._carried(row.time_s, self._high - self._low):
                self._forget_stroke()
                self._go("setting")
            elif self._high - self._base >= need:
                self._through = True
                self._go("follow")
            elif row.time_s - self._events["impact_s"] > ph.THROUGH_S:
                self._forget_stroke()
                self._go("setting")

    def _after_impact(self, row: Row, gone: bool) -> StrokeRecord | None:
        x, now, impact = self._x(row), row.time_s, self._events["impact_s"]
        assert self._live is not None
        if not math.isnan(x) and x > self._high and "settle_s" not in self._events:
            self._high, self._high_s = x, now
        if "settle_s" not in self._events:
            speed = self._live.speed_cm_s
            limit = ph.SETTLE_CM_S if self._source == "putter" else ph.HANDS_SETTLE_CM_S
            if speed is not None and speed < limit:
                self._still_since = now if self._still_since is None else self._still_since
                if now - self._still_since >= ph.SETTLE_S - 1e-9:
                    self._events["finish_s"] = min(self._high_s, self._still_since)
                    self._events["settle_s"] = self._still_since
                    self._settled_at = x
                    if self.phase == "follow":
                        self._go("hold")
            elif speed is not None:
                self._still_since = None
        if "look_s" not in self._events and self._live.look_since is not None:
            self._events["look_s"] = self._live.look_since
            self._go("looked")
        settle, look = self._events.get("settle_s"), self._events.get("look_s")
        if gone:
            return self._end("walked_off")
        if settle is None:
            return self._end("setting") if now - impact > ph.NEVER_SETTLES_S else None
        if look is not None and now - max(settle, look) > ph.AFTERMATH_S:
            return self._end("setting")
        if abs(x - self._settled_at) > ph.MOVED_OFF_CM:
            self._off_since = now if self._off_since is None else self._off_since
        elif not math.isnan(x):
            self._off_since = None
        if self._off_since is not None and now - self._off_since > ph.MOVED_OFF_S and now - settle > 0.3:
            return self._end("walked_off" if look is None else "setting")
        if now - settle > ph.LONGEST_HOLD_S:
            return self._end("walked_off" if look is None else "setting")
        return None

    def _end(self, phase: Phase) -> StrokeRecord | None:
        record = self._close()
        through = self._high - self._base
        if not math.isnan(self._settled_at):
            self._finish = (self._settled_at, min(ph.HELD_OUT_CM, 0.5 * through))
        self._go(phase)
        self._forget_stroke()
        return record

    def _close(self) -> StrokeRecord | None:
        start = self._takeaway_s - ph.LEAD_IN_S
        rows = [(r.index, r.time_s, r.columns) for r in self._rows if r.time_s >= start]
        return build_record(signals_of(rows, self._view), dict(self._events), self.look_deg)

    # -- what is told ---------------------------------------------------------------------------------------------
    def _moment(self, row: Row, new: tuple[EventName, ...], closed: StrokeRecord | None) -> Moment:
        live = self._live
        if live is not None and (self.phase in ("backstroke", "forward", "follow", "hold", "looked")):
            settle = self._events.get("settle_s")
            recoil = None
            after = self.phase in ("follow", "hold", "looked")
            if after and self._view == "face-on" and self._source == "putter" and not math.isnan(self._x(row)):
                recoil = max(0.0, self._high - self._x(row))
            return Moment(
                row.time_s,
                self.phase,
                dict(self._events),
                new,
                live.turn_deg,
                live.turn_conf,
                live.hinge_deg,
                live.hinge_conf,
                live.hands_speed_cm_s,
                live.speed_cm_s if self._source == "putter" else None,
                recoil,
                live.sway_cm,
                live.lift_cm,
                None if settle is None else row.time_s - settle,
                False,
                closed,
                live.putter_conf,
            )
        return Moment(row.time_s, self.phase, {}, new, still_address=self.phase == "address", closed=closed)
