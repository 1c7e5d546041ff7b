"""The live state machine: one observation in, one moment out; a finished stroke comes out once as a record.

All times come from the observations; rates from 15 to 120 a second and dropped frames change nothing but the resolution. What
the tracker knows at takeaway rests on no more than KEPT_BEFORE_S of the past, all of which is kept in the record: so a
record's own signals, replayed, give the same stroke again.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from itertools import islice, takewhile
from typing import Mapping

from trainer.domain.observation import Observation
from trainer.domain.phases import FOLLOWS, Phase
from trainer.domain.player_frame import RIGHT_HANDED, PlayerFrame
from trainer.domain.record import EventName, Events, LiveState, StrokeRecord
from trainer.stroke import thresholds as th
from trainer.stroke.ball_evidence import NEAR_CM
from trainer.stroke.filters import crossing_s
from trainer.stroke.impact_sound import ImpactSound
from trainer.stroke.lost_pictures import after_gap
from trainer.stroke.record_builder import build_record
from trainer.stroke.sample import Rows, Sample, ready_posture, rough_scale
from trainer.stroke.signals import sample_of, signals_of
from trainer.stroke.stillness import Still, still
from trainer.stroke.stroke_filter import plain_stroke
from trainer.stroke.swing import AddressReference, Swing

KEPT_S = 14.0


class Tracker:
    """Feed observations in order of time. ``finish`` when no more come; ``reset`` for another player.

    sound: what is heard places impact too.
    """

    def __init__(self, look_deg: float = th.LOOK_DEG, sound: ImpactSound | None = None) -> None:
        self.look_deg, self._sound = look_deg, sound
        self.reset()

    def reset(self) -> None:
        """Forgets everything."""
        self.phase: Phase = Phase.AWAY
        self._rows: Rows = deque()
        self._seen_s = -math.inf
        self._frame = RIGHT_HANDED
        self._rest: AddressReference | None = None
        self._swing: Swing | None = None
        self._lost = False  # pictures of it, for too long
        self._held_out: tuple[float, float] | None = (
            None  # where the last stroke came to rest, and how near is the same
        )

    # -- one observation ---------------------------------------------------------------------------------------------
    def update(self, observation: Observation) -> LiveState:
        """One observation on; times must increase."""
        return self.update_row(observation.index, observation.time_s, sample_of(observation), observation.frame)

    def update_row(
        self, index: int, time_s: float, columns: Mapping[str, float], frame: PlayerFrame | None = None
    ) -> LiveState:
        """The same from a recorded row (``signals.sample_of``)."""
        self._frame = frame or self._frame
        row = Sample(index, time_s, columns, self._frame)
        self._rows.append(row)
        while self._rows[0].time_s < time_s - KEPT_S:
            self._rows.popleft()
        swing = self._swing
        before = swing.events if swing is not None else Events()
        if self._swing is not None:
            self._swing.see(row, self.look_deg)
        closed = self._step(row)
        if self._swing is None:
            self._lost = False
        elif self._swing.events.settle_s is None:
            self._lost |= after_gap(self._rows)
        events = self._swing.events if self._swing is not None else Events()
        moment = self._moment(row, tuple(name for name, _ in events if before.named(name) is None), closed)
        if swing is None or self._swing is not None or closed is not None:
            return moment
        return replace(moment, uncounted=swing.why_none(row, self._gone(row)))

    def finish(self) -> StrokeRecord | None:
        """No more observations: the stroke under way if its impact has passed, else None."""
        record = self._learned(self._close()) if self.phase.after_impact else None
        self.phase, self._rest, self._swing = Phase.AWAY, None, None
        return record

    def _step(self, row: Sample) -> StrokeRecord | None:
        if row.body:
            self._seen_s = row.time_s
        gone = self._gone(row)
        if self.phase.absent:
            if row.body:
                self._to(Phase.SETTING)
            elif self.phase == Phase.WALKED_OFF:
                self._to(Phase.AWAY)
        elif self._swing is not None and self.phase.after_impact:
            return self._after_impact(self._swing, row, gone)
        elif gone:
            self._held_out = None
            self._to(Phase.AWAY)
        elif self.phase == Phase.SETTING:
            self._settle_down(row)
        elif self.phase == Phase.ADDRESS and self._rest is not None:
            self._stand(self._rest, row)
        elif self._swing is not None:
            self._swing_on(self._swing, row)
        return None

    def _gone(self, row: Sample) -> bool:
        """Whether nobody has been seen for a while, or nothing at all."""
        return len(self._rows) == 1 or row.time_s - self._seen_s > th.LOST_S

    def _to(self, phase: Phase) -> None:
        """Into a phase, or on in the same one; what belongs to the phases left behind is forgotten."""
        assert phase == self.phase or phase in FOLLOWS[self.phase], f"{self.phase} -> {phase}"
        self.phase = phase
        if not phase.under_way:
            self._swing = None
            if phase is not Phase.ADDRESS:
                self._rest = None

    # -- before the stroke ----------------------------------------------------------------------------------------
    def _still(self, row: Sample) -> Still | None:
        return still(reversed(self._rows), th.STILL_S, th.STILL_CM / rough_scale(row.columns, self._frame.view))

    def _pauses(self, row: Sample) -> Still | None:
        """A rest too short for an address but for where it is: right behind a ball."""
        c, scale = row.columns, rough_scale(row.columns, self._frame.view)
        found = still(reversed(self._rows), th.PAUSE_S, th.STILL_CM / scale)
        if found is None or found.source != "putter" or self._frame.view != "face-on":
            return None
        ahead_cm, over_cm = (c["ball_along_px"] - found.place_px) * scale, (c["ball_up_px"] - c["putter_up_px"]) * scale
        return found if 0 < ahead_cm < th.BEHIND_BALL_CM and abs(over_cm) < NEAR_CM[1] else None

    def _rest_of(self, found: Still, row: Sample) -> AddressReference:
        """The address place, by the scale reference of this very row: a better scale reference later moves nothing."""
        scale = rough_scale(row.columns, self._frame.view)
        return AddressReference(found.place_px * scale, found.source, scale, row.time_s)

    def _settle_down(self, row: Sample) -> None:
        found = self._still(row) or self._pauses(row)
        if found is None:
            return
        rest = self._rest_of(found, row)
        if self._held_out is not None and abs(rest.place_cm - self._held_out[0]) < self._held_out[1]:
            return  # the putter held out after a stroke is no address
        if ready_posture(row, self._frame.view):
            self._held_out = None
            self._to(Phase.ADDRESS)
            self._rest = rest

    def _stand(self, rest: AddressReference, row: Sample) -> None:
        before = self._rows[-2]
        was_cm = before.x_px(rest.source) * rest.cm_per_px
        jump_cm = row.x_px(rest.source) * rest.cm_per_px - was_cm
        rested = abs(was_cm - rest.place_cm) < th.TAKEAWAY_CM  # else it is under way, and a quick stroke steps as far
        if rested and abs(jump_cm) > th.JUMP_CM and row.time_s - before.time_s < th.JUMP_S:
            self._rest = rest._replace(place_cm=rest.place_cm + jump_cm)
            return
        found = self._still(row)
        if found is not None:
            now = self._rest_of(found, row)
            changed = now.source != rest.source
            if changed or abs(now.place_cm - rest.place_cm) < th.JUMP_CM:
                if not changed or now.source == "putter":
                    self._rest = now
                return
        x = row.x_px(rest.source) * rest.cm_per_px
        if row.time_s - rest.at_s > th.RESTLESS_S or x > rest.place_cm + th.FORWARD_OFF_CM:
            self._to(Phase.SETTING)
        elif x < rest.place_cm - th.TAKEAWAY_CM:
            past = takewhile(lambda r: r.time_s > row.time_s - th.LOST_S, islice(reversed(self._rows), 1, None))
            last = [r for r in past if not math.isnan(r.x_px(rest.source))][:1]
            trail = [(r.time_s, r.x_px(rest.source) * rest.cm_per_px) for r in (*last, row)]
            takeaway_s = crossing_s(trail[0], trail[-1], rest.place_cm - th.TAKEAWAY_CM)
            if row.time_s - trail[0][0] > th.JUMP_S and trail[0][1] < rest.place_cm - th.TAKEAWAY_CM:
                takeaway_s = trail[0][0]  # just begun, then out of sight
            self._swing = Swing(self._rows, rest, takeaway_s, self._frame.view == "face-on")
            self._to(Phase.BACKSTROKE)

    # -- the stroke -----------------------------------------------------------------------------------------------
    def _swing_on(self, swing: Swing, row: Sample) -> None:
        """Between takeaway and follow-through."""
        if self.phase == Phase.BACKSTROKE:
            self._to(swing.back(row))
        if self.phase == Phase.FORWARD:
            self._to(swing.forward(row))

    def _after_impact(self, swing: Swing, row: Sample, gone: bool) -> StrokeRecord | None:
        phase = swing.after(row, self.phase, gone)
        if phase.after_impact:
            if swing.waggles(row) and self._close() is None:
                phase = Phase.SETTING
            self._to(phase)
            return None
        record = self._learned(self._close())
        if record is not None and not gone and not math.isnan(swing.settled_cm):
            self._held_out = (swing.settled_cm, min(th.HELD_OUT_CM, 0.5 * swing.through_cm))
        self._to(phase)
        return record

    def _close(self) -> StrokeRecord | None:
        swing = self._swing
        if swing is None:
            return None
        start = swing.takeaway_s - th.KEPT_BEFORE_S
        rows = [(r.index, r.time_s, r.columns) for r in self._rows if r.time_s >= start]
        record = build_record(signals_of(rows, self._frame), swing.events, self.look_deg, self._sound)
        if record is None or record.kind == "ball" or plain_stroke(record.signals, record.events):
            return record
        return None

    def _learned(self, record: StrokeRecord | None) -> StrokeRecord | None:
        """The same, once it is over."""
        if record is not None and self._sound is not None:
            self._sound.learn(record)
        return record

    # -- what is told ---------------------------------------------------------------------------------------------
    def _moment(self, row: Sample, new: tuple[EventName, ...], closed: StrokeRecord | None) -> LiveState:
        swing = self._swing
        if swing is None:
            return LiveState(row.time_s, self.phase, Events(), new, closed=closed)
        live, settle = swing.live, swing.events.settle_s
        after = self.phase.after_impact
        return LiveState(
            time_s=row.time_s,
            phase=self.phase,
            events=swing.events,
            new_events=new,
            turn_deg=live.turn_deg,
            turn_conf=live.turn_conf,
            hinge_deg=live.hinge_deg,
            hinge_conf=live.hinge_conf,
            hands_speed_cm_s=live.hands_speed_cm_s,
            putter_speed_cm_s=live.speed_cm_s if swing.source == "putter" else None,
            recoil_cm=swing.come_back_cm(row) if after and self._frame.view == "face-on" else None,
            sway_cm=live.sway_cm,
            lift_cm=live.lift_cm,
            held_s=None if settle is None else row.time_s - settle,
            putter_conf=live.putter_conf,
            sight=swing.sight,
            still_since_s=live.still_since,
            doubtful=self._lost or swing.doubtful(row),
        )
