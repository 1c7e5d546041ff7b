"""Hands-free: plainly held arm positions, leaving and entering the picture. Pure: observations in, events out.

Every position is one that no part of a putt has, and that sweeps nothing with the putter in the other hand: a hand beside and
above the shoulder with the forearm upright. Pointing is an arm out, shading the eyes is a hand before the head, picking up a
ball and holding a putter are hands below the shoulders. A position counts only when it is held still, and the next one only after
the arms were down. Places are in the picture; lengths are shares of the trunk (shoulders to hips), so no scale is needed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, Mapping

from trainer.domain.observation import Observation
from trainer.domain.phases import Phase

Position = Literal["lead hand up", "trail hand up", "both hands up"]
Order = Literal[
    "pause", "next", "quit", "good", "not good", "left", "entered", "why", "homework",
    "holed", "short", "long", "left side", "right side",
    "guess short", "guess right", "guess long",
]  # fmt: skip
Place = tuple[float, float]

# How long a position is held, s (common practice, no source: longer than any wave, shorter than is a bother).
ORDERS: Mapping[Position, tuple[Order, float]] = {
    "lead hand up": ("pause", 1.2),
    "trail hand up": ("next", 1.5),
    "both hands up": ("quit", 2.5),
}
# For a player who holds the putter with one hand, and may have no other to raise: the rest is by keys.
ONE_HAND: Mapping[Position, tuple[Order, float]] = {
    "lead hand up": ("pause", 1.2),
    "trail hand up": ("pause", 1.2),
    "both hands up": ("quit", 2.5),
}
Question = Literal["feel", "guess"]
FEEL: Mapping[Position, tuple[Order, float]] = {"lead hand up": ("good", 0.5), "trail hand up": ("not good", 0.5)}
# How far it will have run: the hand on the side where the ball stopped, seen from the mark.
GUESS: Mapping[Position, tuple[Order, float]] = {
    "trail hand up": ("guess short", 0.5), "both hands up": ("guess right", 0.5), "lead hand up": ("guess long", 0.5),
}  # fmt: skip
QUESTIONS: Mapping[Question, Mapping[Position, tuple[Order, float]]] = {"feel": FEEL, "guess": GUESS}
DOWN_S = 0.6  # the arms are down for so long before another position may count
GAP_S = 0.20  # a position lost for less goes on
AWAY_S, BACK_S = 3.0, 0.7  # out of the picture; in it again

SURE = 0.5  # least confidence of a point
FACING = 0.35  # shoulders' width in trunks, for a player who faces the camera
ABOVE = (
    0.40  # a raised wrist above its shoulder, trunks (rendered people: 0.49 to 0.92; shading their eyes 0.25 to 0.29)
)
BESIDE = 0.45  # and beside the head, trunks (0.52 to 0.93; both hands at the cap 0.33 to 0.43)
UPRIGHT_DEG = 35.0  # forearm from straight up
STILL = 0.25  # how far a wrist may stray from where it was first held, trunks


@dataclass(frozen=True, slots=True)
class Seen:
    """event: what was ordered, at this very observation; holding: the order whose position is being held, and how much of
    its time (0..1), for showing.
    """

    event: Order | None = None
    holding: tuple[Order, float] | None = None


NOTHING = Seen()


@dataclass(frozen=True, slots=True)
class Arms:
    """One observation's arms: the position, if it is one, and where lead and trail wrist are, from the middle of the shoulders
    (trunks, in the picture)."""

    position: Position | None
    wrists: tuple[Place, ...]


def arms_of(observation: Observation) -> Arms | None:
    """None: too little of the body is seen to tell."""
    at = _places(observation)
    sides = ("lead", "trail")
    if at is None or any(f"{side}_{part}" not in at for side in sides for part in ("shoulder", "hip")):
        return None
    shoulders = [at[f"{side}_shoulder"] for side in sides]
    hips = [at[f"{side}_hip"] for side in sides]
    top, bottom = _middle(shoulders), _middle(hips)
    trunk = math.dist(top, bottom)
    if trunk < 1e-6 or top[1] <= bottom[1]:
        return None
    head = _middle([at[n] for n in ("nose", "lead_ear", "trail_ear") if n in at] or [top])
    seen = [at.get(f"{side}_wrist", (math.nan, math.nan)) for side in sides]
    wrists = tuple(((x - top[0]) / trunk, (y - top[1]) / trunk) for x, y in seen)
    if math.dist(*shoulders) < FACING * trunk:
        return Arms(None, wrists)
    up = {side: _raised(at, side, head, top, trunk) for side in sides}
    if up["lead"] and up["trail"]:
        return Arms("both hands up", wrists)
    for side in sides:
        other = "trail" if side == "lead" else "lead"
        if up[side] and not _above_shoulder(at, other):
            return Arms("lead hand up" if side == "lead" else "trail hand up", wrists)
    return Arms(None, wrists)


def _somebody(observation: Observation) -> bool:
    """A shoulder or a hip is surely seen: from the side the far ones often are not."""
    at = _places(observation)
    return at is not None and any(f"{side}_{part}" in at for side in ("lead", "trail") for part in ("shoulder", "hip"))


def _places(observation: Observation) -> dict[str, Place] | None:
    """Name -> place in the picture (right or left, up), of the points that are surely seen."""
    if observation.body is None:
        return None
    frame = observation.frame
    return {n: frame.in_view(p) for n, p in observation.body.items() if p.confidence >= SURE and frame.seen(p)}


def _middle(places: list[Place]) -> Place:
    return sum(p[0] for p in places) / len(places), sum(p[1] for p in places) / len(places)


def _raised(at: Mapping[str, Place], side: str, head: Place, top: Place, trunk: float) -> bool:
    """A hand beside the head and above the shoulder, the forearm upright."""
    names = (f"{side}_wrist", f"{side}_elbow", f"{side}_shoulder")
    if any(name not in at for name in names):
        return False
    wrist, elbow, shoulder = (at[name] for name in names)
    outward = math.copysign(1.0, shoulder[0] - top[0])
    high = wrist[1] - shoulder[1] > ABOVE * trunk
    beside = outward * (wrist[0] - head[0]) > BESIDE * trunk
    upright = abs(math.degrees(math.atan2(wrist[0] - elbow[0], wrist[1] - elbow[1]))) < UPRIGHT_DEG
    return high and beside and upright


def _above_shoulder(at: Mapping[str, Place], side: str) -> bool:
    wrist = at.get(f"{side}_wrist")
    return wrist is not None and wrist[1] > at[f"{side}_shoulder"][1]


class Gestures:
    """Feed every observation in order. One instance a run. orders: the positions that order something."""

    def __init__(self, orders: Mapping[Position, tuple[Order, float]] = ORDERS) -> None:
        self._orders = orders
        self._here: bool | None = None  # None: nobody was seen yet, and that is no leaving
        self._changing_since: float | None = None
        self._held: Position | None = None
        self._since_s = self._last_s = 0.0
        self._from: tuple[Place, ...] = ()
        self._down_since: float | None = None
        self._armed = True

    def update(self, observation: Observation, phase: Phase = Phase.AWAY, asking: Question | None = None) -> Seen:
        """phase: of the stroke; while the putter swings nothing counts. asking: what the player is asked, and a raised hand
        answers.
        """
        moved = self._presence(observation)
        if moved is not None:
            self._held = None
            return Seen(event=moved)
        arms = arms_of(observation)
        now_s = observation.time_s
        table = QUESTIONS[asking] if asking is not None else self._orders
        position = arms.position if arms is not None and not phase.swinging else None
        if position is None:
            return self._without(now_s, arms is not None, table)
        assert arms is not None
        self._down_since = None
        if not self._armed or position not in table:
            self._held = None
            return NOTHING
        if position != self._held or self._strayed(arms.wrists):
            self._held, self._since_s, self._from = position, now_s, arms.wrists
        self._last_s = now_s
        return self._so_far(now_s, table)

    def _without(self, now_s: float, seen: bool, table: Mapping[Position, tuple[Order, float]]) -> Seen:
        """No position at this observation."""
        if self._held is not None and now_s - self._last_s <= GAP_S and self._held in table:
            return self._shown(self._last_s, table)
        self._held = None
        if seen:
            if self._down_since is None:
                self._down_since = now_s
            self._armed = self._armed or now_s - self._down_since >= DOWN_S
        return NOTHING

    def _so_far(self, now_s: float, table: Mapping[Position, tuple[Order, float]]) -> Seen:
        assert self._held is not None
        order, lasts_s = table[self._held]
        if now_s - self._since_s < lasts_s:
            return self._shown(now_s, table)
        self._held, self._armed = None, False
        return Seen(event=order)

    def _shown(self, now_s: float, table: Mapping[Position, tuple[Order, float]]) -> Seen:
        """Arms on their way pass other positions: what was only just taken up is not shown."""
        assert self._held is not None
        order, lasts_s = table[self._held]
        since_s = now_s - self._since_s
        return Seen(holding=(order, since_s / lasts_s)) if since_s >= GAP_S else NOTHING

    def _strayed(self, wrists: tuple[Place, ...]) -> bool:
        """A wrist has moved from where it was first held: a wave, no position."""
        far = [math.dist(a, b) for a, b in zip(self._from, wrists) if not math.isnan(a[0]) and not math.isnan(b[0])]
        raised = far if self._held == "both hands up" else far[:1] if self._held == "lead hand up" else far[-1:]
        return any(d > STILL for d in raised)

    def _presence(self, observation: Observation) -> Order | None:
        """Leaving, when nobody was seen for a while; entering, when somebody is again."""
        here, now_s = _somebody(observation), observation.time_s
        if self._here is None and here:
            self._here = True
        if self._here is None or here == self._here:
            self._changing_since = None
            return None
        if self._changing_since is None:
            self._changing_since = now_s
        if now_s - self._changing_since < (BACK_S if here else AWAY_S):
            return None
        self._here, self._changing_since = here, None
        self._armed, self._down_since = False, None
        return "entered" if here else "left"
