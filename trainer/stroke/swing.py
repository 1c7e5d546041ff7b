"""One stroke under way: its places along the line, its events so far and its live measures, told row by row.

Places are rough centimetres along the line (rough: good enough to tell motion from rest); events are as exact as two
neighbouring rows allow and are refined once the stroke is over.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from itertools import takewhile
from statistics import median
from typing import NamedTuple

import numpy as np

from trainer.domain.phases import Phase
from trainer.domain.record import Events, Floats
from trainer.stroke import thresholds as th
from trainer.stroke.ball_evidence import BEFORE_S, MOVED_CM, THERE_SHARE, BallAtAddress, ball_at_address
from trainer.stroke.filters import crossing_s, shakes
from trainer.stroke.live_measures import SPEED_S, LiveMeasures
from trainer.stroke.sample import Rows, Sample, hips_along_px
from trainer.stroke.sight import Shake, Sight, steadiness
from trainer.stroke.stillness import still
from trainer.stroke.stroke_filter import BRISK_CM_S, HELD_SHARE, LEAST_CM_S, RESTED_S, SLOW_CM_S, WALKED_CM, rested

WALKS_S = 0.2  # who sets off walks on: hips are taken this far ahead
BALL_LEAVES_S = 0.1  # after impact a slow one may still be seen at its place


class AddressReference(NamedTuple):
    """The address place: place_cm along the line, of the "putter" or the "hands", by this scale reference, last still at at_s."""

    place_cm: float
    source: str
    cm_per_px: float
    at_s: float


class Swing:
    """Made at takeaway. ``back``, ``forward`` and ``after`` take the newest row and say the phase that follows from it.

    Phase.SETTING from ``back`` or ``forward`` means that it was no stroke; from ``after``, that the stroke is over.
    """

    def __init__(self, rows: Rows, rest: AddressReference, takeaway_s: float, face_on: bool = True) -> None:
        self._rows, self._rest = rows, rest
        self.takeaway_s = takeaway_s
        self.events = Events(takeaway_s=takeaway_s)
        self.live = LiveMeasures(rows, takeaway_s, rest.source, rest.cm_per_px)
        self.settled_cm = math.nan
        self._trail: deque[tuple[float, float]] = deque(maxlen=2)
        self._sight = Sight()  # since impact, until at rest
        self._shake = Shake(shakes(self._at_address()))
        self._both: Sample | None = None  # the last row that showed both putter and hands
        self._low_cm, self._low_s = self.place_cm(rows[-1]), rows[-1].time_s
        self._high_cm, self._high_s = -math.inf, math.nan
        self._hips_cm = self._hips_at(rows[-1].time_s)
        self._off_since: float | None = None
        self._fastest_cm_s, self._came_back = 0.0, False  # forward
        self._face_on = face_on
        self._ball: BallAtAddress | None = None
        self._plain_start = not face_on or self._starts_plainly()

    @property
    def source(self) -> str:
        """What stands for the putter head: "putter" or "hands"."""
        return self._rest.source

    @property
    def sight(self) -> float:
        """How surely what is followed has been seen from impact to rest, or so far; 1 before."""
        return 1.0 if self.events.impact_s is None else self._sight.confidence * steadiness(self._shake.cm)

    @property
    def through_cm(self) -> float:
        """Furthest past the address place so far."""
        return self._high_cm - self._rest.place_cm

    def _at_address(self) -> Floats:
        """Places before takeaway, as seen (cm)."""
        first, last = self.takeaway_s - th.ADDRESS_S[0], self.takeaway_s - th.ADDRESS_S[1]
        near = takewhile(lambda r: r.time_s >= first, reversed(self._rows))
        return np.array([r.x_px(self.source) for r in near if r.time_s <= last]) * self._rest.cm_per_px

    def see(self, row: Sample, look_deg: float) -> None:
        """Takes the newest row in, once, before the phase is asked for."""
        self.live.update(row, look_deg)
        if self.events.impact_s is not None and self.events.settle_s is None:
            self._sight.add(row.time_s, row.columns[f"{self.source}_conf"])
        if self.events.settle_s is None:
            self._shake.add(row.time_s, row.x_px(self.source) * self._rest.cm_per_px)
        place = self.place_cm(row)
        if not math.isnan(place):
            self._trail.append((row.time_s, place))
        if not math.isnan(row.x_px(self.source)) and not math.isnan(row.x_px("hands")):
            self._both = row

    def place_cm(self, row: Sample) -> float:
        """Place along the line; NaN when not seen. A putter long unseen is carried on by the hands."""
        x, scale = row.x_px(self.source), self._rest.cm_per_px
        last = self._both
        if not math.isnan(x) or last is None or row.time_s - last.time_s < th.HANDS_CARRY_S:
            return x * scale
        return (last.x_px(self.source) + th.PUTTER_PER_HANDS * (row.x_px("hands") - last.x_px("hands"))) * scale

    def come_back_cm(self, row: Sample) -> float | None:
        """How far the putter head has come back from its furthest point; None when it is not seen."""
        place = self.place_cm(row)
        return None if self.source != "putter" or math.isnan(place) else max(0.0, self._high_cm - place)

    # -- before impact --------------------------------------------------------------------------------------------
    def back(self, row: Sample) -> Phase:
        """Away from the ball: until the putter comes forward again by more than noise."""
        x = self.place_cm(row)
        if not math.isnan(x):
            if x < self._low_cm:
                self._low_cm, self._low_s = x, row.time_s
            depth = self._rest.place_cm - self._low_cm
            if depth < th.BACKSTROKE_CM and x > self._rest.place_cm - 0.6 * th.TAKEAWAY_CM:
                return Phase.ADDRESS
            if depth >= th.BACKSTROKE_CM and x - self._low_cm > max(th.TURN_CM, th.TURN_SHARE * depth):
                if self._low_s - self.takeaway_s < th.MIN_BACK_S or self._carried(self._low_s, depth):
                    return Phase.SETTING
                self.events = replace(self.events, top_s=self._low_s)
                return Phase.FORWARD
        too_long = row.time_s - self.takeaway_s > th.MAX_BACK_S
        return Phase.SETTING if too_long or self._rests_behind() else Phase.BACKSTROKE

    def forward(self, row: Sample) -> Phase:
        """Toward the ball and past it, until the putter is through enough to be sure that it was a stroke."""
        x, rest = self.place_cm(row), self._rest.place_cm
        self._fastest_cm_s = max(self._fastest_cm_s, self.live.speed_cm_s or 0.0)
        impact = self.events.impact_s
        by_cm = max(th.BACK_SHARE * (rest - self._low_cm), th.TAKEAWAY_CM)
        if abs(self._rests_cm("putter", th.PAUSE_S) - rest) < by_cm:
            return Phase.SETTING  # given up and brought back
        if impact is None:
            if not math.isnan(x) and x < self._low_cm:
                self.events = replace(self.events, top_s=None)
                self._low_cm, self._low_s = x, row.time_s
                return Phase.BACKSTROKE
            if math.isnan(x) or x < rest:
                too_long = row.time_s - self._low_s > th.MAX_FORWARD_S
                return Phase.SETTING if too_long or self._rests_behind() else Phase.FORWARD
            impact = crossing_s(self._trail[0], self._trail[-1], rest)
            if impact - self.takeaway_s < th.MIN_TO_IMPACT_S:
                return Phase.SETTING
            self.events = replace(self.events, impact_s=impact)
        self._go_high(x, row.time_s)
        if self.through_cm >= max(th.THROUGH_CM, th.THROUGH_SHARE * (rest - self._low_cm)):
            carried = self._carried(row.time_s, self._high_cm - self._low_cm)
            return Phase.SETTING if carried or self._too_slow() else Phase.FOLLOW
        return Phase.SETTING if row.time_s - impact > th.THROUGH_S else Phase.FORWARD

    def _rests_behind(self) -> bool:
        """Whether the putter has been put down behind the address place: a new address, not a long dwell at the top."""
        span_s = th.RESTART_STILL_S if self._ball is None else th.LONGEST_DWELL_S
        return not math.isnan(self._rests_cm(self.source, span_s))  # hands alone hardly move as a stroke begins

    def _rests_cm(self, source: str, span_s: float = th.RESTART_STILL_S) -> float:
        """Where it has been lying for so long, along the line; NaN while it moves or is not what is seen."""
        found = still(reversed(self._rows), span_s, th.RESTART_STILL_CM / self._rest.cm_per_px)
        return found.place_px * self._rest.cm_per_px if found is not None and found.source == source else math.nan

    def _starts_plainly(self) -> bool:
        """Whether the putter lay at rest before takeaway, or by a ball."""
        near = list(takewhile(lambda r: r.time_s > self.takeaway_s - BEFORE_S, reversed(self._rows)))[::-1]
        time_s = np.array([r.time_s for r in near])
        along, up = (np.array([r.columns[f"ball_{axis}_px"] for r in near]) for axis in ("along", "up"))
        ball = ball_at_address(time_s, along, up, self.takeaway_s)
        place_px = self._rest.place_cm / self._rest.cm_per_px if self.source == "putter" else math.nan
        if ball is not None and ball.beside(self._rest.cm_per_px, place_px):
            self._ball = ball
            return True
        places = np.array([r.x_px(self.source) for r in near]) * self._rest.cm_per_px
        return rested(time_s, places, self.takeaway_s, self.source)

    def _too_slow(self) -> bool:
        """Whether what came forward is too slow for a stroke, or slow and not begun as one."""
        if not self._face_on:
            return False
        mean_cm_s = (self._high_cm - self._low_cm) / max(self._high_s - self._low_s, 1e-3)
        self._fastest_cm_s = max(self._fastest_cm_s, mean_cm_s)  # the putter may have been out of sight
        if self._fastest_cm_s < LEAST_CM_S[self.source]:
            return True
        return self._fastest_cm_s < SLOW_CM_S[self.source] and not self._plain_start

    def _hips_at(self, time_s: float) -> float:
        """Middle of the hips along the line around this time (cm); NaN when not seen."""
        near = takewhile(lambda r: r.time_s >= time_s - th.AROUND_S, reversed(self._rows))
        seen = [h for r in near if r.time_s <= time_s + th.AROUND_S and not math.isnan(h := hips_along_px(r))]
        return float(median(seen)) * self._rest.cm_per_px if seen else math.nan

    def _carried(self, until_s: float, way_cm: float) -> bool:
        """Whether the whole player moved along with the putter from takeaway on: swaying or walking, no stroke."""
        return abs(self._hips_at(until_s) - self._hips_cm) > max(th.CARRIED_CM, th.CARRIED_SHARE * way_cm)

    def _will_have_walked(self, now: float) -> bool:
        """Whether the hips, going on as they do, will soon be too far from where they were at takeaway."""
        hips, before = self._hips_at(now), self._hips_at(now - WALKS_S)
        return abs(hips - self._hips_cm + (0.0 if math.isnan(before) else hips - before)) > WALKED_CM

    def doubtful(self, row: Sample) -> bool:
        """Whether this may yet be no stroke: slow, and the ball lies where it lay or was never seen; or the player walks."""
        impact = self.events.impact_s
        if not self._face_on or impact is None:
            return False
        if self._carried(row.time_s, self._high_cm - self._low_cm):
            return True
        walks = self._will_have_walked(row.time_s)
        if self._ball is None:
            back = self.events.settle_s is None and (self.come_back_cm(row) or 0.0) > th.RECOIL_BEGUN_CM
            return walks or self._fastest_cm_s < (BRISK_CM_S if back else SLOW_CM_S)[self.source]
        if not walks and self._fastest_cm_s >= BRISK_CM_S[self.source]:
            return False
        after = takewhile(lambda r: r.time_s > impact, reversed(self._rows))
        seen = [(r.time_s, (r.columns["ball_along_px"] - self._ball.aside_px) * self._rest.cm_per_px) for r in after]
        if any(x > MOVED_CM for _, x in seen):
            return False  # it rolls
        late = [x for t, x in seen if t > impact + BALL_LEAVES_S]
        return len(late) < 2 or sum(abs(x) < MOVED_CM for x in late) > THERE_SHARE * len(late)

    def why_none(self, row: Sample, gone: bool) -> str:
        """Why this is no stroke after all, in words; empty where it looked like none either, such as a waggle."""
        if self.events.top_s is None:
            return ""
        if gone:
            return "the player went out of sight"
        if self._fastest_cm_s < BRISK_CM_S[self.source] or not self._plain_start:
            return ""
        carried = self._carried(row.time_s, self._high_cm - self._low_cm)
        return "the whole player moved along with it" if carried else "it did not move as a putting stroke does"

    def waggles(self, row: Sample) -> bool:
        """Whether, for the first time, a slow putter has come back past the address place without a rest, or to rest by
        it or before a ball that still lies there: no stroke, if no ball has gone."""
        if self._came_back or not self._face_on or self._fastest_cm_s >= BRISK_CM_S[self.source]:
            return False
        rest = self._rest.place_cm
        settle = self.events.settle_s
        if settle is not None:
            back = self.settled_cm < rest + HELD_SHARE * self.through_cm
            self._came_back = back or (row.time_s - settle > RESTED_S and self.doubtful(row))
        else:
            self._came_back = self.place_cm(row) < rest - th.TAKEAWAY_CM
        return self._came_back

    # -- after impact ---------------------------------------------------------------------------------------------
    def after(self, row: Sample, phase: Phase, gone: bool) -> Phase:
        """From follow-through to hold, look and the end. phase: the one before this row; gone: nobody seen any more."""
        now, x = row.time_s, self.place_cm(row)
        if self.events.settle_s is None:
            self._go_high(x, now)
            if self._settles(x, now):
                self.settled_cm = x
                phase = Phase.HOLD if phase == Phase.FOLLOW else phase
        if self.events.look_s is None and self.live.look_since is not None:
            self.events = replace(self.events, look_s=self.live.look_since)
            phase = Phase.LOOKED
        if gone:
            return Phase.WALKED_OFF
        settle, look = self.events.settle_s, self.events.look_s
        if settle is None:
            return Phase.SETTING if now - self.events.at("impact_s") > th.NEVER_SETTLES_S else phase
        if look is not None and now - max(settle, look) > th.AFTERMATH_S:
            return Phase.SETTING
        if self._moved_off(x, now) or self._put_down(now - settle) or now - settle > th.MAX_HOLD_S:
            return Phase.WALKED_OFF if look is None else Phase.SETTING
        return phase

    def _go_high(self, x: float, now: float) -> None:
        if not math.isnan(x) and x > self._high_cm:
            self._high_cm, self._high_s = x, now

    def _settles(self, x: float, now: float) -> bool:
        """Whether the putter, seen in this row, has just been slow for long enough; notes finish and settle."""
        since = self.live.still_since
        if since is None or math.isnan(x) or now - since < th.SETTLE_S + SPEED_S / 2 - 1e-9:
            return False
        settle = max(since, self.events.at("impact_s"))
        self.events = replace(self.events, finish_s=min(self._high_s, settle), settle_s=settle)
        return True

    def _put_down(self, held_s: float) -> bool:
        """Whether the putter rests by the address place again, or behind it: after a tap-in that is too near to be off."""
        by_cm = self._rest.place_cm + HELD_SHARE * self.through_cm
        return self._face_on and held_s > th.RESTART_STILL_S and self._rests_cm("putter") < by_cm

    def _moved_off(self, x: float, now: float) -> bool:
        """Whether the putter has left the place where it settled, for good."""
        if abs(x - self.settled_cm) > th.MOVED_OFF_CM:
            self._off_since = now if self._off_since is None else self._off_since
        elif not math.isnan(x):
            self._off_since = None
        if self._off_since is None or now - self.events.at("settle_s") <= th.MIN_HOLD_S:
            return False
        return now - self._off_since > th.MOVED_OFF_S
