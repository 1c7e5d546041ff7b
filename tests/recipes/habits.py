"""What players do besides the stroke, and how else they hold the putter or stand: for the clips of strokes_drawn.py's set A."""

import numpy as np
from figures import FormPutter
from timeline import ease
from timelines import Gait

SWING_M = 1.3  # from the pivot of the pendulum to the putter's head, about
PRESS_RATIO = 1.6  # by how much the shaft leans back about the grip for the putter's head to stay where it is
RESERVED_M = 0.03  # between the putter's head and the middle of a ball that it pushes
GRIPS_M = {
    "cross-handed": (-0.045, 0.045),
    "split": (0.06, -0.15),
}  # along the shaft from the grip's middle: left, right hand


class HabitPutter(FormPutter):
    """grip: a name of GRIPS_M; longer_m: grip that goes on above the hands; all else as it was."""

    def __init__(self, body, grip=None, longer_m=0.0, **kw):
        self.grip_name, self.longer_m = grip, longer_m
        super().__init__(body, **kw)

    def _address(self):
        super()._address()
        self.shaft_len += self.longer_m
        if self.grip_name:
            for side, usual, along in zip("lr", (0.045, -0.045), GRIPS_M[self.grip_name], strict=True):
                self.wr0[side] = self.wr0[side] + self.u * (along - usual)


class Habits(Gait):
    """A timeline with habits of players; times in s, angles in deg of the pendulum.

    press: (start, deg), the hands go forward over the putter's head and come back during the backstroke;
    false_start: (start, deg), a backstroke that is given up and brought back; pushed: (start, deg), the putter begins behind
    the ball and pushes it to where it is putted from; comes_back: (start, aside_m), the ball rolls back along the other side.
    """

    def __init__(self, strokes, press=None, false_start=None, pushed=None, comes_back=None, **kw):
        super().__init__(strokes, **kw)
        self.press, self.false_start, self.pushed, self.comes_back = press, false_start, pushed, comes_back

    def _behind(self, t):
        start, deg = self.pushed
        return deg * (1 - ease((t - start) / 1.1))

    def angles(self, t):
        phi, shaft = super().angles(t)
        if self.press:
            start, deg = self.press
            s = self.strokes[0]
            hands = deg * ease((t - start) / 0.35) * (1 - ease((t - s.at) / s.d_back))
            phi, shaft = phi + hands, shaft - PRESS_RATIO * hands
        if self.false_start:
            start, deg = self.false_start
            phi -= deg * (ease((t - start) / 0.5) - ease((t - start - 0.65) / 0.6))
        if self.pushed:
            phi -= self._behind(t)
        return phi, shaft

    def ball(self, t):
        there, x = super().ball(t)
        if self.pushed and t < self.strokes[0].impact:
            behind_m = SWING_M * np.sin(np.radians(self._behind(t)))
            return True, -max(behind_m - RESERVED_M, 0.0)
        if self.comes_back and t >= self.comes_back[0]:
            start, aside_m = self.comes_back
            u = min((t - start) / 2.2, 1.0)
            return True, [2.0 - 1.75 * (2 * u - u * u), aside_m, 0.0]
        return there, x


def timeline(rng, stroke, habit):
    """The stroke with one habit, by name; `before` tells how much later it then begins."""
    at = stroke.at
    if habit == "forward press":
        return Habits([stroke], press=(at - 0.45, rng.uniform(2.5, 4)))
    if habit == "false start":
        return Habits([stroke], false_start=(at - 1.9, rng.uniform(5, 8)))
    if habit == "pushed ball":
        return Habits([stroke], pushed=(0.6, rng.uniform(11, 14)))
    if habit == "ball comes back":
        return Habits([stroke], comes_back=(stroke.impact + rng.uniform(1.4, 1.7), -rng.uniform(0.10, 0.14)))
    if habit == "stands up":
        return Habits([stroke], upright=[(stroke.look_at + 0.2, 0.9, 1.0)])
    if habit == "comes from the camera":
        steps = [(0.3, -0.75), (1.2, -0.75)]
        return Habits([stroke], start_up=1.0, start_dy=1.5, shift=steps, upright=[(2.2, 1.0, 0.0)])
    if habit == "lays down the ball":
        return Habits([stroke], stoop=[(0.4, 0.8, 1.0), (1.6, 0.9, 0.0)])
    return Habits([stroke], start_up=1.0, upright=[(0.5, 1.2, 0.0)])  # steps to the ball


BEFORE_S = {
    "false start": 2.0,
    "pushed ball": 1.7,
    "forward press": 0.5,
    "bows to the ball": 2.2,
    "comes from the camera": 3.0,
    "lays down the ball": 2.6,
}
