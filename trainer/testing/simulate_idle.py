"""Invented minutes without a stroke, as vision would report them: all that a player does between strokes. Test support.

Standing over the ball, glances, waggles quick and slow, lifting and setting down the putter, a new grip, talking with
swaying hands, walking, picking up and placing a ball, stepping back. Sizes and times are common practice, no source. A putter
swung like a pendulum from rest to rest is left out: that is a rehearsal stroke, and counted as one.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Callable

import numpy as np

from trainer.domain.observation import BallObservation, Observation
from trainer.domain.player_frame import Point
from trainer.domain.record import Floats
from trainer.testing.simulate import SimStroke
from trainer.testing.simulate_moves import SimStep, reach
from trainer.testing.simulate_observations import CM_PER_PX, Noise, figure

RATE = 120.0  # samples a second of the invented motion
CHANNELS = ("hands_deg", "shaft_deg", "along_cm", "up_cm", "lift_cm", "apart_cm", "turn_deg")


@dataclass
class Idle:
    """The motion as samples; what ``simulate_seen.figure`` asks of a scene.

    lift_cm: hands and putter up; apart_cm: the trail hand off the grip; putter, ball: seen or not; doing: names by sample.
    """

    lasts_s: float
    ways: dict[str, Floats]
    putter: Floats
    ball: Floats
    doing: list[str]
    seed: int = 0
    steps: tuple[SimStep, ...] = ()
    strokes: tuple[SimStroke, ...] = ()
    starts_s: list[float] = field(default_factory=list)

    def at(self, channel: str, t: Floats) -> Floats:
        """A channel at times t (n,)."""
        return np.interp(t, np.arange(len(self.putter)) / RATE, self.ways[channel])

    def hands_deg(self, t: Floats) -> Floats:
        return self.at("hands_deg", t)

    def shaft_deg(self, t: Floats) -> Floats:
        return self.at("shaft_deg", t)

    def turned_deg(self, t: Floats) -> Floats:
        return self.at("turn_deg", t)

    def body_cm(self, t: Floats) -> tuple[Floats, Floats]:
        return self.at("along_cm", t), self.at("up_cm", t)

    def head_shift_cm(self, t: Floats) -> tuple[Floats, Floats]:
        return np.zeros_like(t), np.zeros_like(t)

    def doing_at(self, time_s: float) -> str:
        """What is going on."""
        return self.doing[max(int(np.searchsorted(self.starts_s, time_s, side="right")) - 1, 0)]


def _bump(t: Floats, start_s: float, rise_s: float, rests_s: float) -> Floats:
    """0 to 1, a rest, and back to 0."""
    return reach((t - start_s) / rise_s) - reach((t - start_s - rise_s - rests_s) / rise_s)


def _waves(t: Floats, rng: np.random.Generator, low_hz: float, high_hz: float) -> Floats:
    """A wandering of size about 1, begun from 0."""
    rate, phase = rng.uniform(low_hz, high_hz, 3), rng.uniform(0, 2 * np.pi, 3)
    wave = np.sin(2 * np.pi * rate * t[:, None] + phase).mean(axis=1) * np.sqrt(3)
    return np.asarray((wave - wave[0]) * reach(t / 1.0) * reach((t[-1] - t) / 1.0))


Ways = dict[str, Floats]
Doing = Callable[[Floats, np.random.Generator], Ways]


def _stand(t: Floats, rng: np.random.Generator) -> Ways:
    """Still over the ball, perhaps with a glance at the hole."""
    glance = _bump(t, rng.uniform(0.3, 2.0), 0.5, rng.uniform(0.3, 1.2)) * rng.choice([0.0, 45.0])
    return {"turn_deg": glance}


def _sway(t: Floats, rng: np.random.Generator) -> Ways:
    """Over the ball, shifting from foot to foot."""
    return {"along_cm": float(rng.uniform(0.5, 4.0)) * _waves(t, rng, 0.1, 0.6)}


def _waggle(t: Floats, rng: np.random.Generator) -> Ways:
    u = np.clip((t - 0.6) / rng.uniform(0.7, 1.6), 0, 1)
    size = rng.choice([-1, 1]) * rng.uniform(0.8, 3.5)
    return {"hands_deg": size * np.sin(2 * np.pi * rng.integers(1, 4) * u) * np.sin(np.pi * u)}


def _slow_waggle(t: Floats, rng: np.random.Generator) -> Ways:
    """Back, past the address place and back again without a rest, once or several times."""
    cycles = int(rng.integers(1, 4))
    u = np.clip((t - 0.6) / (cycles * rng.uniform(0.9, 2.0)), 0, 1)
    size = rng.choice([-1, 1]) * rng.uniform(0.8, 4.0)
    return {"hands_deg": size * np.sin(2 * np.pi * cycles * u) * np.minimum(1, 4 * np.sin(np.pi * u))}


def _hover(t: Floats, rng: np.random.Generator) -> Ways:
    """The putter lifted and set down again, before or behind the ball."""
    lifted = _bump(t, 0.6, 0.35, rng.uniform(0.2, 1.0))
    return {"lift_cm": rng.uniform(1.5, 6) * lifted, "hands_deg": rng.uniform(-3, 4) * lifted}


def _before_the_ball(t: Floats, rng: np.random.Generator) -> Ways:
    """The putter set down before the ball to aim, then behind it."""
    over = reach((t - 0.4) / 0.5) - reach((t - rng.uniform(1.6, 2.4)) / 0.5)
    return {"hands_deg": float(rng.uniform(3.5, 5.5)) * over, "lift_cm": 16.0 * over * (1 - over)}


def _grip(t: Floats, rng: np.random.Generator) -> Ways:
    """A new grip: a hand off and on again, the putter moves a little."""
    apart = _bump(t, 0.5, 0.3, rng.uniform(0.2, 0.8))
    return {
        "apart_cm": rng.uniform(5, 15) * apart,
        "hands_deg": rng.uniform(-1.2, 1.2) * _bump(t, 0.6, 0.4, 0.3),
        "shaft_deg": rng.uniform(-2, 2) * _waves(t, rng, 0.5, 1.2),
    }


def _talk(t: Floats, rng: np.random.Generator) -> Ways:
    """Upright, the putter in both hands swaying before the body, the head here and there."""
    up = reach(t / 0.8) - reach((t - t[-1] + 0.8) / 0.8)
    return {
        "hands_deg": up * rng.uniform(1, 6) * _waves(t, rng, 0.15, 0.7),
        "shaft_deg": up * rng.uniform(0, 4) * _waves(t, rng, 0.2, 0.9),
        "along_cm": up * rng.uniform(0, 5) * _waves(t, rng, 0.1, 0.4),
        "lift_cm": up * rng.uniform(2, 25),
        "turn_deg": 30 * _waves(t, rng, 0.1, 0.5),
    }


def _talk_over_the_ball(t: Floats, rng: np.random.Generator) -> Ways:
    """Bowed as at address, the putter swaying slowly, no rest between."""
    return {
        "hands_deg": rng.uniform(0.8, 5) * _waves(t, rng, 0.1, 0.5),
        "along_cm": rng.uniform(0, 2) * _waves(t, rng, 0.1, 0.4),
        "turn_deg": 30 * _waves(t, rng, 0.1, 0.5),
    }


def _walk(t: Floats, rng: np.random.Generator) -> Ways:
    """Off and back again, the putter swinging along."""
    far = rng.uniform(60, 250) * rng.choice([-1, 1])
    away = reach((t - 0.3) / 2.0) - reach((t - t[-1] + 2.3) / 2.0)
    pace = np.abs(np.gradient(away, t))
    return {
        "along_cm": far * away,
        "hands_deg": 25 * np.minimum(pace, 1) * np.sin(2 * np.pi * 0.9 * t),
        "lift_cm": 15 * np.minimum(pace * 3, 1),
        "apart_cm": 30 * np.minimum(pace * 3, 1),
        "turn_deg": 60 * np.minimum(pace, 1),
    }


def _pick_up(t: Floats, rng: np.random.Generator) -> Ways:
    """Down to the ball and up again."""
    down = _bump(t, 0.5, rng.uniform(0.7, 1.2), rng.uniform(0.2, 1.0))
    return {
        "up_cm": -rng.uniform(20, 50) * down,
        "along_cm": rng.uniform(-15, 25) * down,
        "apart_cm": 35 * down,
        "hands_deg": rng.uniform(-15, 15) * down,
    }


def _step_back(t: Floats, rng: np.random.Generator) -> Ways:
    back = _bump(t, 0.4, 0.9, rng.uniform(0.5, 2.0))
    return {
        "along_cm": rng.uniform(-40, 25) * back,
        "lift_cm": rng.uniform(0, 10) * back,
        "hands_deg": rng.uniform(-4, 4) * back,
    }


DOINGS: dict[str, Doing] = {
    "standing": _stand,
    "shifting from foot to foot": _sway,
    "waggle": _waggle,
    "slow waggle": _slow_waggle,
    "putter lifted": _hover,
    "putter before the ball": _before_the_ball,
    "new grip": _grip,
    "talking": _talk,
    "talking over the ball": _talk_over_the_ball,
    "walking": _walk,
    "picking up": _pick_up,
    "stepping back": _step_back,
}


def idle(lasts_s: float, seed: int, only: tuple[str, ...] = ()) -> Idle:
    """About lasts_s of it, drawn by the seed: every second thing done is standing over the ball, seen or not."""
    rng = np.random.default_rng([seed, 77])
    parts: dict[str, list[Floats]] = {n: [] for n in CHANNELS}
    putter: list[Floats] = []
    ball: list[Floats] = []
    doing: list[str] = []
    starts: list[float] = []
    now, lies = 0.0, True
    names = only or tuple(DOINGS)
    while now < lasts_s:
        name = str(rng.choice(names)) if len(doing) % 2 else "standing"
        t = np.arange(int(rng.uniform(4.0, 9.0) * RATE)) / RATE
        ways = DOINGS[name](t, rng)
        for channel in CHANNELS:
            parts[channel].append(ways.get(channel, np.zeros_like(t)))
        gone = name in ("walking", "picking up")  # only then may a ball come or go
        hidden = gone and rng.random() < 0.5
        lies = rng.random() < 0.7 if gone else lies
        putter.append(np.full(len(t), 0.0 if hidden else 1.0))
        ball.append(np.full(len(t), float(lies)))
        doing.append(name)
        starts.append(now)
        now += len(t) / RATE
    joined = {n: np.concatenate(p) for n, p in parts.items()}
    t = np.arange(len(joined["along_cm"])) / RATE
    for channel, size in (("along_cm", 0.2), ("turn_deg", 0.5), ("up_cm", 0.01)):
        rate, phase = rng.uniform(0.15, 0.7, 3), rng.uniform(0, 2 * np.pi, 3)
        joined[channel] = joined[channel] + size * np.sin(2 * np.pi * rate * t[:, None] + phase).mean(axis=1) * 1.7
    return Idle(now, joined, np.concatenate(putter), np.concatenate(ball), doing, seed, starts_s=starts)


def idle_observations(scene: Idle, fps: float, noise: Noise, rng: np.random.Generator) -> list[Observation]:
    """Frame by frame."""
    plain = figure(scene, fps, noise, rng)
    t = np.array([s.time_s for s in plain])
    lift, apart = scene.at("lift_cm", t) / CM_PER_PX, scene.at("apart_cm", t) / CM_PER_PX
    k = np.minimum((t * RATE).astype(int), len(scene.putter) - 1)
    shown, lies = scene.putter[k] > 0.5, (scene.ball[k] > 0.5) & (rng.random(len(t)) < 0.95)
    jitter = rng.normal(0, noise.ball_px, (len(t), 2))
    out = []
    for i, s in enumerate(plain):
        body = dict(s.body or {})
        for name in ("lead_wrist", "trail_wrist"):
            p = body[name]
            aside = apart[i] if name == "trail_wrist" else 0.0
            body[name] = p._replace(along_px=p.along_px - aside, up_px=p.up_px + lift[i] + 0.5 * aside)
        putter = s.putter if shown[i] else None
        if putter is not None:
            head, grip = putter.head, putter.grip
            putter = replace(
                putter,
                head=head._replace(up_px=head.up_px + float(lift[i])),
                grip=grip._replace(up_px=grip.up_px + float(lift[i])),
            )
        place = Point(3.4 / CM_PER_PX + float(jitter[i, 0]), 2.0 / CM_PER_PX + float(jitter[i, 1]), 0.9)
        ball = BallObservation(place, 4.267 / CM_PER_PX) if lies[i] else None
        out.append(replace(s, body=body, putter=putter, ball=ball))
    return out
