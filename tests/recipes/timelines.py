"""Timelines beyond the generator's: balls rolled in between strokes, a player who moves about freely."""

import numpy as np
from timeline import Timeline, ease


class RolledIn(Timeline):
    """The second and later balls are rolled to their place from the camera's side while the player waits."""

    def ball(self, t, roll_s=0.9, far_m=0.75):
        ok, x = super().ball(t)
        born = [b for b in self.balls if t >= b]
        if not ok or len(born) < 2 or t >= born[-1] + roll_s:
            return ok, x
        left = 1 - (t - born[-1]) / roll_s
        return True, [0.0, -far_m * left * left, 0.0]


class Gait(Timeline):
    """A timeline in which the player also stands up, stoops, nods and turns the head freely.

    upright, stoop, heads: lists of (start_s, duration_s, to); nods: (start_s, duration_s, deg, n);
    small_waggle: (start_s, deg), two half swings behind the ball and back to it.
    """

    def __init__(self, strokes, upright=(), stoop=(), heads=(), nods=(), small_waggle=(), start_up=0.0, **kw):
        super().__init__(strokes, **kw)
        self.upright, self.stoop, self.heads, self.nods = upright, stoop, heads, nods
        self.small_waggle, self.start_up = small_waggle, start_up

    @staticmethod
    def _track(keys, t, value=0.0):
        for at, d, to in keys:
            value += (to - value) * ease((t - at) / d)
        return float(value)

    def form(self, t):
        return self._track(self.upright, t, self.start_up), self._track(self.stoop, t)

    def yaw(self, t):
        return super().yaw(t) + self._track(self.heads, t)

    def lookup(self, t):
        on = (g * np.sin(np.pi * n * (t - a) / d) ** 2 for a, d, g, n in self.nods if a <= t <= a + d)
        return super().lookup(t) - sum(on)

    def angles(self, t):
        phi, shaft = super().angles(t)
        on = (g * np.sin(2 * np.pi * (t - a) / 1.1) ** 2 for a, g in self.small_waggle if a <= t <= a + 1.1)
        return phi - sum(on), shaft
