"""Invented strokes whose every event is known: the motion. Test support that travels with the package.

A flat figure seen face-on: arms and putter swing as one pendulum about the base of the neck, the shaft may turn further
about the grip (hands that stop), the head turns and shifts, the whole body sways. Lengths cm, angles deg, times s; along
grows toward the target, up upward, with the putter head's address place at (0, 0). ``simulate_observations`` makes
observations of it.
Sizes and times of ordinary putts: 99 tour players, backstroke 24 cm in 0.67 s, impact 0.32 s later (summary table at
probablegolfinstruction.com, "natural putting tempo"); the rest is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Events, Floats, Kind
from trainer.testing.simulate_moves import SimGlance, SimStep, SimWaggle, reach

SHOULDER_TO_GRIP_CM = 58.0
SHAFT_CM = 78.0  # grip to putter head, as it stands in the picture
RADIUS_CM = SHOULDER_TO_GRIP_CM + SHAFT_CM
TAKEAWAY_CM = 0.5
SETTLE_CM_S = 5.0
SETTLE_S = 0.12
STEP_S = 0.001  # of the scan that finds the true events


@dataclass(frozen=True, slots=True)
class SimStroke:
    """One stroke. Angles are the pendulum's; a back_deg of 10 carries the putter head 24 cm.

    start_s: exact start of the motion. back: a "reach" at rest at both ends or half a "pendulum"'s swing; skew other than 1
    bends its time course. forward: "steady" acceleration or a "pendulum"'s quarter swing. fade: how the speed dies after
    impact, place = end - k (t_end - t)^fade. stall_deg: what the shaft turns past the hands, which stop within stop_s of
    impact; stall_s: how long that takes. look_s: start of the head's turn (None: never). coupling_cm: the head shifts with
    (+) or against (-) the putter. shake_deg: the putter never comes to rest but swings on by this much. back_at_s: the
    putter is brought back to address.
    """

    start_s: float
    kind: Kind = "ball"
    back_deg: float = 10.0
    through_deg: float = 12.5
    backstroke_s: float = 0.66
    dwell_s: float = 0.03
    forward_s: float = 0.317
    back: Literal["reach", "pendulum"] = "reach"
    forward: Literal["steady", "pendulum"] = "steady"
    skew: float = 1.0
    fade: float = 2.0
    stall_deg: float = 0.0
    stall_s: float = 0.40
    stop_s: float = 0.14
    recoil_cm: float = 0.0
    recoil_s: float = 0.30
    look_s: float | None = None
    turn_deg: float = 50.0
    turn_s: float = 0.45
    sway_cm: float = 0.0
    lift_cm: float = 0.0
    coupling_cm: float = 0.0
    shake_deg: float = 0.0
    back_at_s: float | None = None

    @property
    def top_s(self) -> float:
        """Middle of the dwell."""
        return self.start_s + self.backstroke_s + self.dwell_s / 2

    @property
    def impact_s(self) -> float:
        return self.start_s + self.backstroke_s + self.dwell_s + self.forward_s

    @property
    def impact_deg_s(self) -> float:
        """Angular speed at impact."""
        return (2.0 if self.forward == "steady" else np.pi / 2) * self.back_deg / self.forward_s

    @property
    def follow_s(self) -> float:
        """Impact to the end of the follow-through: what keeps the speed continuous at impact."""
        if self.stall_deg:
            return max(self.stall_s, self.stop_s)
        return float(np.clip(self.fade * self.through_deg / self.impact_deg_s, 0.15, 1.2))

    @property
    def finish_s(self) -> float:
        return self.impact_s + self.follow_s

    def held(self, t: Floats) -> Floats:
        """1 while the putter is held out, easing to 0 once it is brought back."""
        return np.ones_like(t) if self.back_at_s is None else 1 - reach((t - self.back_at_s) / 0.8)

    def hands_deg(self, t: Floats) -> Floats:
        """Angle of the arms at times t (n,)."""
        u = np.clip((t - self.start_s) / self.backstroke_s, 0, 1) ** self.skew
        back = reach(u) if self.back == "reach" else (1 - np.cos(np.pi * u)) / 2
        u = np.clip((t - (self.impact_s - self.forward_s)) / self.forward_s, 0, 1)
        down = 1 - u * u if self.forward == "steady" else np.cos(np.pi / 2 * u)
        angle = -self.back_deg * np.where(t < self.impact_s - self.forward_s, back, down)
        total, lasts = self.through_deg, self.follow_s
        if self.stall_deg:
            total, lasts = self.impact_deg_s * self.stop_s / 2, self.stop_s
        power = max(self.impact_deg_s * lasts / total, 1.5)
        after = total * (1 - (1 - np.clip((t - self.impact_s) / lasts, 0, 1)) ** power)
        shake = self.shake_deg * np.sin(2 * np.pi * 1.6 * (t - self.finish_s)) * (t > self.finish_s)
        return np.where(t < self.impact_s, angle, after - self._recoil_deg(t) + shake) * self.held(t)

    def shaft_deg(self, t: Floats) -> Floats:
        """Angle of the shaft past the arms."""
        if not self.stall_deg:
            return np.zeros_like(t)
        return self.stall_deg * reach((t - self.impact_s + 0.02) / self.stall_s) * self.held(t)

    def _recoil_deg(self, t: Floats) -> Floats:
        if not self.recoil_cm:
            return np.zeros_like(t)
        top = self.through_deg if not self.stall_deg else self.impact_deg_s * self.stop_s / 2 + self.stall_deg
        back = np.degrees(np.arcsin(np.sin(np.radians(top)) - self.recoil_cm / RADIUS_CM))
        return np.asarray((top - back) * reach((t - self.finish_s - 0.02) / self.recoil_s))

    def turned_deg(self, t: Floats) -> Floats:
        """Turn of the head toward the target."""
        if self.look_s is None:
            return np.zeros_like(t)
        back = 1.0 if self.back_at_s is None else 1 - reach((t - self.back_at_s) / 0.6)
        return self.turn_deg * reach((t - self.look_s) / self.turn_s) * back

    def head_shift_cm(self, t: Floats) -> tuple[Floats, Floats]:
        """Along and up shift of the head."""
        after = reach((t - self.impact_s + 0.05) / 0.35) * self.held(t)
        along = self.sway_cm * after + self.coupling_cm * self.hands_deg(t) / max(self.back_deg, 1.0)
        return along, self.lift_cm * after


@dataclass(frozen=True)
class KnownStroke:
    """What is true of one simulated stroke. events None: never; hinge_deg: what the stopping hands leave.

    sway_cm (largest, signed) and lift_cm of the head from takeaway to settle or look, whichever comes first;
    with_putter_cm: the head's travel in the putter's direction, the larger of back and through.
    """

    stroke: SimStroke
    kind: Kind
    events: Events
    back_cm: float
    through_cm: float
    recoil_cm: float
    hinge_deg: float
    sway_cm: float
    lift_cm: float
    with_putter_cm: float


@dataclass(frozen=True)
class Scene:
    """Everything that happens, in order of time. The last stroke under way moves the putter.

    sway_mm: slow sway of the whole figure (sum of sines as people stand); wobble_deg: the same of the head's turn.
    """

    strokes: tuple[SimStroke, ...] = ()
    lasts_s: float = 6.0
    waggles: tuple[SimWaggle, ...] = ()
    glances: tuple[SimGlance, ...] = ()
    steps: tuple[SimStep, ...] = ()
    sway_mm: float = 2.0
    wobble_deg: float = 0.5
    seed: int = 0
    _slow: dict[str, Floats] = field(default_factory=dict, compare=False)

    def _drift(self, t: Floats, name: str) -> Floats:
        """A slow wandering of size about 1."""
        if name not in self._slow:
            rng = np.random.default_rng([self.seed, sum(map(ord, name))])
            self._slow[name] = np.stack([rng.uniform(0.15, 0.7, 3), rng.uniform(0, 2 * np.pi, 3)])
        rate, phase = self._slow[name]
        return np.asarray(np.sin(2 * np.pi * rate * t[:, None] + phase).mean(axis=1) * np.sqrt(3))

    def _stroke_at(self, t: Floats) -> npt.NDArray[np.int64]:
        starts = [s.start_s for s in self.strokes]
        return np.searchsorted(starts, t, side="right") - 1

    def _sum(self, t: Floats, name: str) -> Floats:
        """The strokes' own functions of time, each while it is the last one begun."""
        which, out = self._stroke_at(t), np.zeros_like(t)
        for i, stroke in enumerate(self.strokes):
            out = np.where(which == i, getattr(stroke, name)(t), out)
        return out

    def hands_deg(self, t: Floats) -> Floats:
        return np.asarray(self._sum(t, "hands_deg") + sum(w.hands_deg(t) for w in self.waggles))

    def shaft_deg(self, t: Floats) -> Floats:
        return self._sum(t, "shaft_deg")

    def turned_deg(self, t: Floats) -> Floats:
        glances = sum(g.turned_deg(t) for g in self.glances)
        return np.asarray(self._sum(t, "turned_deg") + glances + self.wobble_deg * self._drift(t, "turn"))

    def body_cm(self, t: Floats) -> tuple[Floats, Floats]:
        """Along and up shift of the whole figure, putter and all."""
        steps = sum(s.along(t) for s in self.steps)
        return (
            np.asarray(0.1 * self.sway_mm * self._drift(t, "along") + steps),
            0.03 * self.sway_mm * self._drift(t, "up"),
        )

    def head_shift_cm(self, t: Floats) -> tuple[Floats, Floats]:
        which, along, up = self._stroke_at(t), np.zeros_like(t), np.zeros_like(t)
        for i, stroke in enumerate(self.strokes):
            a, u = stroke.head_shift_cm(t)
            along, up = np.where(which == i, a, along), np.where(which == i, u, up)
        return along, up

    def known(self, look_deg: float = 12.0) -> list[KnownStroke]:
        """The truth, from a scan of the exact motion in steps of a millisecond, without the body's slow sway."""
        return [self._known(i, look_deg) for i in range(len(self.strokes))]

    def _known(self, i: int, look_deg: float) -> KnownStroke:
        s = self.strokes[i]
        end = self.strokes[i + 1].start_s if i + 1 < len(self.strokes) else self.lasts_s
        t = np.arange(s.start_s - 0.7, min(end, s.back_at_s or end), STEP_S)
        along, up = putter_head_cm(s.hands_deg(t), s.shaft_deg(t))
        take = float(t[int(np.argmax(along <= -TAKEAWAY_CM))])
        speed = np.hypot(np.gradient(along, STEP_S), np.gradient(up, STEP_S))
        fast = np.flatnonzero((speed > SETTLE_CM_S) & (t >= s.impact_s))
        need, settle = int(SETTLE_S / STEP_S), None
        for k, j in enumerate(fast):
            following = fast[k + 1] if k + 1 < len(fast) else len(t)
            if following - j > need:
                settle = float(t[j + 1])
                break
        turn = self.turned_deg(t)
        turn = turn - np.median(turn[(t > s.start_s - 0.6) & (t < s.start_s)])
        passed = np.flatnonzero((turn > look_deg) & (t > s.start_s))
        look = float(t[passed[0]]) if len(passed) else None
        events = Events(take, s.top_s, s.impact_s, s.finish_s, settle, look)
        top, finish = int(np.searchsorted(t, s.top_s)), int(np.searchsorted(t, s.finish_s))
        through = float(along[min(finish, len(t) - 1)])
        shift, raised = s.head_shift_cm(t)
        until = slice(int(np.searchsorted(t, take)), int(np.searchsorted(t, _last(events, t))))
        sway = float(shift[until][np.argmax(np.abs(shift[until]))])
        lift = float(raised[until].max())
        last = int(np.searchsorted(t, _last(events, t)))
        back, forth = shift[until.start : top + 1] - shift[0], shift[top : last + 1] - shift[top]
        ways = max(-float(back[np.argmax(np.abs(back))]), float(forth[np.argmax(np.abs(forth))]))
        return KnownStroke(s, s.kind, events, -float(along[top]), through, s.recoil_cm, s.stall_deg, sway, lift, ways)


def _last(events: Events, t: Floats) -> float:
    """Until when the head's place counts."""
    return min(v if v is not None else float(t[-1]) for v in (events.settle_s, events.look_s))


def putter_head_cm(hands_deg: Floats, shaft_deg: Floats) -> tuple[Floats, Floats]:
    """Along and up place of the putter head from its address place."""
    arm, shaft = np.radians(hands_deg), np.radians(hands_deg + shaft_deg)
    along = SHOULDER_TO_GRIP_CM * np.sin(arm) + SHAFT_CM * np.sin(shaft)
    return along, RADIUS_CM - SHOULDER_TO_GRIP_CM * np.cos(arm) - SHAFT_CM * np.cos(shaft)


def ordinary_stroke(rng: np.random.Generator, start_s: float = 1.5) -> SimStroke:
    """A stroke as people make them, held and then looked up from; tap-ins to long lags, slow and quick."""
    tempo = rng.normal(1.0, 0.13)
    back = float(np.clip(rng.lognormal(np.log(10.0), 0.45), 3.0, 28.0))
    forward: Literal["steady", "pendulum"] = "steady" if rng.random() < 0.6 else "pendulum"
    swing: Literal["reach", "pendulum"] = "reach" if rng.random() < 0.7 else "pendulum"
    s = SimStroke(
        start_s,
        back_deg=back,
        through_deg=back * float(rng.uniform(0.9, 1.7)),
        backstroke_s=float(np.clip(0.67 * tempo + rng.normal(0, 0.05), 0.42, 1.1)),
        dwell_s=float(max(0.0, rng.normal(0.03, 0.04))),
        forward_s=float(np.clip(0.317 * tempo + rng.normal(0, 0.03), 0.2, 0.6)),
        back=swing,
        forward=forward,
        skew=float(rng.uniform(0.9, 1.1)),
        fade=float(rng.uniform(1.6, 2.6)),
        turn_deg=float(rng.uniform(30, 65)),
        turn_s=float(rng.uniform(0.35, 0.7)),
        coupling_cm=float(rng.normal(0, 0.5)),
    )
    return replace(s, look_s=s.finish_s + float(rng.uniform(1.1, 2.2)))
