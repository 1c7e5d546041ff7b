"""Strokes as a student makes them, drawn by number, with their truth: for studies of error rates."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from trainer.coaching.faults import STALL_SHARE
from trainer.coaching.verdict import TOO_CLOSE_S
from trainer.domain.observation import Observation
from trainer.domain.player_frame import RIGHT_HANDED
from trainer.domain.record import Floats
from trainer.settings.limits import Limits
from trainer.stroke import thresholds as th
from trainer.stroke.angles import hinge_deg
from trainer.stroke.measures import HANDS_STOP
from trainer.stroke.signals import sample_of, signals_of
from trainer.testing.simulate import SETTLE_CM_S, SETTLE_S, Scene, SimStroke, ordinary_stroke, putter_head_cm
from trainer.testing.simulate_moves import SimGlance, SimWaggle
from trainer.testing.simulate_observations import EXACT, Noise, figure, observations

STEP_S = 0.001
STOP_ERROR = 0.12  # of the hands' share of their speed
TURN_GAIN = 0.15  # of a head turn, that vision may fall short by


def student(rng: np.random.Generator, start_s: float) -> SimStroke:
    """One stroke: a third of the students' strokes hold, the others look, stop their hands, come back or sway, by any amount."""
    s = ordinary_stroke(rng, start_s)
    if rng.random() < 0.35:
        slow = float(rng.uniform(1.0, 1.8))
        s = replace(
            s,
            stall_deg=float(rng.uniform(2, 30)),
            stall_s=float(rng.uniform(0.28, 0.5)),
            stop_s=slow * float(rng.uniform(0.1, 0.2)),
        )
    elif rng.random() < 0.35:
        s = replace(s, recoil_cm=float(rng.uniform(0.5, 8)), recoil_s=float(rng.uniform(0.25, 0.45)))
        s = replace(s, through_deg=max(s.through_deg, 1.3 * s.recoil_cm / 2.37))
    if rng.random() < 0.4:
        s = replace(s, sway_cm=float(rng.uniform(-8, 8)))
    if rng.random() < 0.4:
        s = replace(s, lift_cm=float(rng.uniform(0, 6)))
    rest = s.finish_s + (s.recoil_s if s.recoil_cm else 0.0)
    look = rest + float(rng.uniform(1.1, 2.2))
    if rng.random() < 0.65:
        look = s.finish_s + float(rng.uniform(-0.6, 0.3) if rng.random() < 0.65 else rng.uniform(0.0, 1.6))
    return replace(s, look_s=max(look, s.start_s + 0.3))


def draw(number: int, fps: float) -> tuple[Scene, list[Observation], int]:
    """Scene, what vision saw of it, and which of its strokes is meant. The same number is the same scene at every rate."""
    rng = np.random.default_rng([number, 4242])
    before, waggles, glances = [], [], []
    start = 1.6
    if rng.random() < 0.1:
        rehearsal = replace(ordinary_stroke(rng, 1.5), kind="rehearsal", look_s=None)
        rehearsal = replace(rehearsal, back_at_s=rehearsal.finish_s + float(rng.uniform(0.4, 1.2)))
        before.append(rehearsal)
        start = (rehearsal.back_at_s or 0) + float(rng.uniform(2.0, 3.0))
    if rng.random() < 0.3:
        waggle = SimWaggle(start - 0.6, float(rng.choice([-1, 1]) * rng.uniform(1, 3.5)), int(rng.integers(1, 4)))
        waggles.append(waggle)
        start += waggle.lasts_s + float(rng.uniform(0.3, 1.0))
    if rng.random() < 0.3:
        glances.append(SimGlance(start - 0.4))
        start += 1.5 + float(rng.uniform(0.2, 1.0))
    stroke = student(rng, start)
    scene = Scene(
        (*before, stroke),
        max(stroke.finish_s, stroke.look_s or 0.0) + 1.9,
        waggles=tuple(waggles),
        glances=tuple(glances),
        sway_mm=float(rng.uniform(0.5, 4.0)),
        seed=number,
    )
    frames = observations(scene, fps, replace(Noise(), gone=float(rng.choice([0.0, 0.01, 0.04]))), rng)
    return scene, _hide(frames, stroke, rng), len(before)


def _hide(frames: list[Observation], s: SimStroke, rng: np.random.Generator) -> list[Observation]:
    """Now and then the putter, the head or whole frames are lost for a moment somewhere in the stroke."""

    def stretch(longest_s: float) -> tuple[float, float]:
        first = float(rng.uniform(s.start_s - 0.3, s.finish_s + 0.5))
        return first, first + float(rng.uniform(0.03, longest_s))

    if rng.random() < 0.10:
        a, b = stretch(0.25)
        frames = [replace(f, putter=None) if a <= f.time_s < b else f for f in frames]
    if rng.random() < 0.05:
        a, b = stretch(0.2)
        frames = [replace(f, head=None) if a <= f.time_s < b else f for f in frames]
    if rng.random() < 0.05:
        a, b = stretch(0.12)
        frames = [f for f in frames if not a <= f.time_s < b]
    return frames


@dataclass(frozen=True)
class Truth:
    """What is true of one stroke.

    settle_s: at rest; a (first, last) that differ where it hangs on a hair; so does recoil_cm (least, most).
    turn_s: when each tenth of a degree of head turn from 1 to 35 was passed for the look (inf: never). stop: the hands' least
    share of their impact speed while the putter goes on. passed_s: when a fault's default limit was passed.
    """

    settle_s: tuple[float, float] | None
    turn_s: list[float]
    hinge_deg: float
    stop: float
    recoil_cm: tuple[float, float]
    with_putter_cm: float
    lift_cm: float
    passed_s: dict[str, float | None] = field(default_factory=dict)

    def passes_s(self, deg: float) -> float:
        """When the head passed this turn for good."""
        return self.turn_s[round(10 * (min(max(deg, 1.0), 35.0) - 1.0))]

    def value(self, name: str) -> float | None:
        """The measure's true value at the default limits."""
        limit = Limits().early_look.value
        if name in ("early_look", "short_hold"):
            if self.settle_s is None or self.settle_s[1] - self.settle_s[0] > 0.02 or np.isinf(self.passes_s(limit)):
                return None
            return (self.settle_s[0] - self.passes_s(limit)) * (1 if name == "early_look" else -1)
        if name == "recoil":
            return self.recoil_cm[1] if self.recoil_cm[1] - self.recoil_cm[0] < 0.3 else None
        return {"hand_stall": self.hinge_deg, "sway": self.with_putter_cm, "lift": self.lift_cm}[name]

    def plainly(self, name: str, limit: float, error: float) -> bool | None:
        """Whether the fault is there by this limit; None when its value is nearer to the limit than the error."""
        if name in ("early_look", "short_hold"):
            return self._look(name, limit, error)
        if name == "hand_stall":
            return self._stall(limit, error)
        if name == "recoil":
            low, high = self.recoil_cm
            return True if low > limit + error else False if high < limit - error else None
        value = self.value(name) or 0.0
        return None if abs(value - limit) <= error else value > limit

    def _look(self, name: str, limit: float, error: float) -> bool | None:
        turn = limit if name == "early_look" else Limits().early_look.value
        surely, hardly = turn * (1 + TURN_GAIN) + 1.5, turn * (1 - TURN_GAIN) - 1.5
        if np.isinf(self.passes_s(hardly)):
            return False  # no look at all
        if np.isinf(self.passes_s(surely)) or self.settle_s is None:
            return None
        early = [s - self.passes_s(turn) for s in self.settle_s]
        clear = TOO_CLOSE_S + error
        before = True if min(early) > clear else False if max(early) < -clear else None
        if name == "early_look" or before is not False:
            return before if name == "early_look" else (None if before is None else False)
        hold = [self.passes_s(turn) - s for s in self.settle_s]
        return True if max(hold) < limit - error else False if min(hold) > limit + error else None

    def _stall(self, limit: float, error: float) -> bool | None:
        """By the angle alone, or by an angle STALL_SHARE as large while the hands stop."""
        if self.hinge_deg > limit + error:
            return True
        if self.hinge_deg > STALL_SHARE * limit + error and self.stop < HANDS_STOP[0] - STOP_ERROR:
            return True
        if self.hinge_deg < STALL_SHARE * limit - error:
            return False
        if self.hinge_deg < limit - error and self.stop > HANDS_STOP[0] + STOP_ERROR:
            return False
        return None


def truth_of(scene: Scene, index: int) -> Truth:
    """From the exact motion, without the body's slow sway."""
    known, s = scene.known()[index], scene.strokes[index]
    t = np.arange(s.start_s - 0.8, scene.lasts_s, STEP_S)
    settles = [_settle(t, s, speed, lasts) for speed in (0.85, 1.0, 1.15) for lasts in (0.85, 1.0, 1.15)]
    settle = None if None in settles else (min(v for v in settles if v), max(v for v in settles if v))
    turn = s.turned_deg(t)
    levels = 1.0 + np.arange(341) / 10
    take = known.events.takeaway_s or s.start_s
    lasting = [float(t[np.argmax(turn > v)]) if turn.max() > v else np.inf for v in levels]
    lasting = [max(v, take) for v in lasting]
    end = known.events.settle_s or scene.lasts_s
    hinge, stop, passed = _arm(s, end)
    return Truth(
        settle, lasting, hinge, stop, _recoil(t, s, settle, lasting[110]), known.with_putter_cm, known.lift_cm,
        {"early_look": known.events.look_s, "hand_stall": passed},
    )  # fmt: skip


def _settle(t: Floats, s: SimStroke, speed_share: float, lasts_share: float) -> float | None:
    """Start of the first rest after impact, by limits a little off the definition's."""
    along, up = putter_head_cm(s.hands_deg(t), s.shaft_deg(t))
    fast = np.hypot(np.gradient(along, STEP_S), np.gradient(up, STEP_S)) > speed_share * SETTLE_CM_S
    moving = np.flatnonzero(fast & (t >= s.impact_s))
    for j, following in zip(moving, [*moving[1:], len(t)]):
        if following - j > lasts_share * SETTLE_S / STEP_S:
            return float(t[j + 1])
    return None


def _recoil(t: Floats, s: SimStroke, settle: tuple[float, float] | None, look_s: float) -> tuple[float, float]:
    """Least and most of what the definition (``measures``) can take for it: begun soon after rest and before the look."""
    along, _ = putter_head_cm(s.hands_deg(t), s.shaft_deg(t))

    def back(until_s: float) -> float:
        seen = along[(t >= s.impact_s) & (t <= until_s)]
        return float(seen.max() - seen[int(seen.argmax()) :].min()) if len(seen) else 0.0

    if settle is None:
        return back(s.finish_s + 1.0), back(s.finish_s + 1.0)
    found = []
    for at, begun_cm, early_s in ((settle[0], 1.4, -0.05), (settle[0], 0.7, 0.05), (settle[1], 1.0, 0.05)):
        soon = at + th.MIN_HOLD_S + early_s
        begun = back(soon) >= begun_cm * th.RECOIL_BEGUN_CM
        found.append(back(min(at + th.RECOIL_S, max(look_s, soon))) if begun else back(soon))
    return min(found), max(found)


def _arm(s: SimStroke, end_s: float) -> tuple[float, float, float | None]:
    """Largest change of the angle in the exact picture, the hands' least share of speed, when the default was passed."""
    still = Scene((s,), end_s + 0.1, sway_mm=0.0)
    exact = [f for f in figure(still, 240.0, EXACT, np.random.default_rng(0)) if f.time_s > s.start_s - 0.3]
    signals = signals_of([(f.index, f.time_s, sample_of(f)) for f in exact], RIGHT_HANDED)
    t = signals.time_s
    hinge = hinge_deg(signals, t < s.start_s)
    change = hinge - np.median(hinge[t < s.start_s])
    after = (t >= s.impact_s) & (t <= end_s)
    past = np.flatnonzero(after & (change > Limits().hand_stall.value))
    hands, putter = (np.gradient(signals[f"{n}_along_px"], t) for n in ("hands", "putter"))
    k = int(np.argmax(after))
    going = after & (putter / putter[k] > HANDS_STOP[1])
    stop = float((hands / hands[k])[going].min()) if going.any() else 1.0
    largest = float(change[after][np.argmax(np.abs(change[after]))])
    return largest, stop, float(t[past[0]]) if len(past) else None
