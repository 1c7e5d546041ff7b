"""What to say while it happens: at most one fault a stroke, at the first moment that settles it; or a hold's praise.

The chime follows the look: before it, it would be waited for in place of the putter's rest, and most strokes have none.
"""

from __future__ import annotations

from trainer.coaching.faults import DOUBT, stall_deg
from trainer.coaching.verdict import TOO_CLOSE_S, near_rest
from trainer.domain.measures import MIN_CONFIDENCE
from trainer.domain.record import LiveState
from trainer.domain.verdict import Cue
from trainer.settings.limits import Limits
from trainer.stroke.filters import crossing_s
from trainer.stroke.live_measures import SPEED_S
from trainer.stroke.measures import HANDS_STOP
from trainer.stroke.thresholds import MIN_HOLD_S, RECOIL_BEGUN_CM, RECOIL_S, SETTLE_S

PLAIN = 1.3  # a turn this many times the limit needs no second frame
STALL_S = 0.03  # the angle stays past its limit for this long: two frames at 30 a second
FIRST_TURN_CONF = 0.25
WAIT_S = SETTLE_S + SPEED_S  # by then a putter that seems at rest has come to its settle
SLOW_CM_S = 3.0  # less at impact is too little to take shares of
# Speeds over which a putter hardly comes to rest within TOO_CLOSE_S, or hardly has come to rest by now: of looks too close to
# call as few are told as by waiting until it is known, 2 of 12 (9 of 12 without waiting), and half of the cues come 68 ms after
# the limit for 133 (250 strokes of ``tests.bench.rates``, 30 frames/s).
NO_REST_SOON_CM_S, MOVING_CM_S = 100.0, 20.0


class _Mean:
    """A running mean: the verdict's confidence is one over the stroke, so what is told live goes by one too."""

    def __init__(self) -> None:
        self._sum, self._count = 0.0, 0

    def add(self, value: float) -> None:
        self._sum, self._count = self._sum + value, self._count + 1

    @property
    def value(self) -> float:
        return self._sum / self._count if self._count else 0.0


class LiveJudge:
    """Feed every moment in order. One instance a player; it forgets by itself when a stroke ends."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._clear()

    def _clear(self) -> None:
        self._said: set[str] = set()
        self._turned_since: float | None = None
        self._turned_frames = 0
        self._stalled_since: float | None = None
        self._before: tuple[float, float] | None = None
        self._at_impact: tuple[float, float] | None = None
        self._hands_share: float | None = None
        self._recoils = False
        self._head, self._hinge = _Mean(), _Mean()

    def update(self, moment: LiveState) -> Cue | None:
        """The cue this moment settles, if any."""
        if moment.closed is not None or not moment.phase.under_way:
            self._clear()
            return None
        self._note(moment)
        if moment.doubtful:
            return None
        told = {
            "early_look": (self._early(moment), self._turned_since),
            "hand_stall": (self._stall(moment), self._stalled_since),
            "recoil": (self._recoil(moment), None),
        }
        for name, (at_s, passed_s) in told.items():
            if at_s is not None and getattr(self.limits, name).on:
                return self._say(name, at_s, passed_s)
        settle = moment.events.settle_s
        looked = self._confirmed(moment)
        if settle is None or looked is None:
            return None
        held_s = looked - settle
        if held_s >= self.limits.short_hold.value:
            return self._say("hold_done", moment.time_s)
        if not self.limits.short_hold.on or (self.limits.early_look.on and near_rest(held_s)):
            return None  # neither early nor held: nothing is said of it
        short = 0 <= held_s < self.limits.short_hold.value - DOUBT["short_hold"]
        return self._say("short_hold", moment.time_s, looked) if short else None

    def _say(self, name: str, at_s: float, passed_s: float | None = None) -> Cue | None:
        if self._said:
            return None
        self._said.add(name)
        return Cue(name, at_s, passed_s)

    def _note(self, moment: LiveState) -> None:
        """Keeps how long the head has been turned, whether the hands have stopped, and how surely all that was seen."""
        self._head.add(moment.turn_conf if moment.turn_deg is not None else 0.0)
        if moment.events.impact_s is not None and moment.events.settle_s is None:
            self._hinge.add(moment.hinge_conf if moment.hinge_deg is not None else 0.0)
        turn = moment.turn_deg
        if turn is not None and moment.turn_conf >= FIRST_TURN_CONF:
            limit = self.limits.early_look.value
            self._turned_since = self._over_since(self._turned_since, moment.time_s, turn, limit)
            self._turned_frames = self._turned_frames + 1 if turn > limit else 0
            self._before = moment.time_s, turn
        self._note_hands(moment)

    def _over_since(self, since: float | None, time_s: float, turn: float, level: float) -> float | None:
        """Since when the turn has been over the level, between frames; see ``HeadTurn``. None: it is not."""
        if turn <= level or since is not None:
            return None if turn <= level else since
        return crossing_s(self._before or (time_s, turn), (time_s, turn), level)

    def _note_hands(self, moment: LiveState) -> None:
        """Keeps how slow the hands have been while the putter head goes on, by their speeds at impact.

        Live speeds are those of half a SPEED_S ago, both alike.
        """
        impact = moment.events.impact_s
        hands, putter = moment.hands_speed_cm_s, moment.putter_speed_cm_s
        if impact is None or hands is None or putter is None or moment.events.settle_s is not None:
            return
        if self._at_impact is None:
            if moment.time_s >= impact + SPEED_S / 2:
                self._at_impact = (hands, putter)
        elif min(self._at_impact) > SLOW_CM_S and putter > HANDS_STOP[1] * self._at_impact[1]:
            share = hands / self._at_impact[0]
            self._hands_share = share if self._hands_share is None else min(share, self._hands_share)

    def _confirmed(self, moment: LiveState) -> float | None:
        """Since when the head has been turned, once that is sure."""
        if self._turned_since is None or moment.turn_deg is None:
            return None
        if min(self._head.value, moment.sight) < MIN_CONFIDENCE:
            return None
        plain = moment.turn_deg > PLAIN * self.limits.early_look.value
        return self._turned_since if plain or self._turned_frames >= 2 else None

    def _early(self, moment: LiveState) -> float | None:
        looked = self._confirmed(moment)
        if looked is None or moment.events.impact_s is None:
            return None
        settle = moment.events.settle_s
        if settle is not None:
            return moment.time_s if looked < settle and not near_rest(settle - looked) else None
        # Where the putter seemed at rest before the head turned, or soon after, whether it was is known in a moment.
        rest = moment.still_since_s
        if rest is not None:
            open_ = rest - looked <= TOO_CLOSE_S and moment.time_s - rest < WAIT_S
            return None if open_ else moment.time_s
        return moment.time_s if self._plainly_moving(moment, looked) else None

    @staticmethod
    def _plainly_moving(moment: LiveState, looked: float) -> bool:
        """Whether the putter, not at rest as far as it is known, will not have come to rest within TOO_CLOSE_S of the look.

        Speeds are those of half a SPEED_S ago.
        """
        speed, since = moment.putter_speed_cm_s or 0.0, moment.time_s - looked
        if since < TOO_CLOSE_S:
            return speed > NO_REST_SOON_CM_S
        return speed > MOVING_CM_S or since > TOO_CLOSE_S + SPEED_S / 2

    def _stall(self, moment: LiveState) -> float | None:
        if moment.events.impact_s is None:
            self._stalled_since = None
            return None
        if moment.events.settle_s is not None or moment.hinge_deg is None or moment.hinge_conf < MIN_CONFIDENCE:
            return None
        if self._hinge.value < MIN_CONFIDENCE:
            return None
        limit = self.limits.hand_stall.value
        if moment.hinge_deg <= stall_deg(limit, self._hands_share):
            self._stalled_since = None
            return None
        if self._stalled_since is None:
            self._stalled_since = moment.time_s
        return moment.time_s if moment.time_s - self._stalled_since >= STALL_S - 1e-9 else None

    def _recoil(self, moment: LiveState) -> float | None:
        if (
            moment.recoil_cm is None
            or min(moment.putter_conf, moment.sight) < MIN_CONFIDENCE
            or not moment.phase.finishing
        ):
            return None
        settle = moment.events.settle_s
        since = moment.time_s - settle if settle is not None else 0.0
        if since <= MIN_HOLD_S:
            self._recoils = moment.recoil_cm >= RECOIL_BEGUN_CM
        elif since > RECOIL_S or not self._recoils:
            return None
        return moment.time_s if moment.recoil_cm > self.limits.recoil.value + DOUBT["recoil"] else None
