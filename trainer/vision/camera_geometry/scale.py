"""Centimetres per pixel, in the ball's plane and in the body's, from what is in the picture.

The ball lies nearer to the camera than the player, so one scale does not serve both. The body's plane here is that of
the head, where sway and lift are measured; bent over, it hangs nearly above the ball. The standing height cannot be
measured on a player who is bent over, but the legs can: hip to ankle is a known share of the height.
"""

from __future__ import annotations

import math
from collections import deque

from trainer.domain.ball import BALL_CM as BALL_CM
from trainer.domain.observation import Scale
from trainer.vision.body.points import BodyPoints, leg_length_px
from trainer.vision.numeric import middle

# Legs as seen, hip-knee-ankle, over standing height, times the nearer plane of the head: hip to ankle is 0.491 of the
# height (Drillis and Contini 1966, as in Winter's table; from memory), 0.945 of that shows with the knees bent, and the
# head is nearer to a camera 2.5 to 3 m away by 0.865 than the middle of the legs. On rendered players 0.40 +- 0.013.
LEG_PER_HEIGHT = 0.401
# How much farther away than the ball the head's plane is, face-on from 2.7 to 3.1 m: 1.06 +- 0.03 on rendered players.
HEAD_BEYOND_BALL = 1.06
# Down the line from behind the player, head and ball are at about the same distance: legs and head too.
LEG_PER_HEIGHT_DTL = 0.433
HEAD_BEYOND_BALL_DTL = 0.93
AGREE_SHARE = (
    0.15  # what the body says and what the ball says may differ by this before the height is taken to be wrong
)
# A ball that makes a giant of the player was measured too small (blur, blocks of compression): one man in a million is taller
# (mean 176 cm, spread 7 cm; from memory), and legs tell the height to 4 %.
TALLEST_CM = 215.0
REMEMBERED = 45  # frames


class ScaleEstimator:
    """Keeps robust medians of ball size, leg length and stance over the last frames that showed them.

    height_cm: the player's standing height, None when unknown.
    """

    def __init__(self, height_cm: float | None = None, down_the_line: bool = False) -> None:
        self.height_cm = height_cm
        self._leg_share = LEG_PER_HEIGHT_DTL if down_the_line else LEG_PER_HEIGHT
        self._beyond = HEAD_BEYOND_BALL_DTL if down_the_line else HEAD_BEYOND_BALL
        self._balls: deque[float] = deque(maxlen=REMEMBERED)
        self._legs: deque[float] = deque(maxlen=REMEMBERED)
        self._stances: deque[float] = deque(maxlen=REMEMBERED)

    def update(self, ball_diameter_px: float | None, body: BodyPoints | None) -> Scale:
        """The scale after this frame.

        ball_diameter_px: None while no ball is known; body: points by name (px).
        """
        if ball_diameter_px is not None and ball_diameter_px > 0:
            self._balls.append(ball_diameter_px)
        leg = leg_length_px(body)
        if leg is not None:
            self._legs.append(leg)
        if body is not None and "left_ankle" in body and "right_ankle" in body:
            self._stances.append(math.dist(body["left_ankle"][:2], body["right_ankle"][:2]))
        ball = BALL_CM / middle(self._balls) if self._balls else None
        by_ball = None if ball is None else ball * self._beyond
        by_height = None
        if self.height_cm is not None and self._legs:
            by_height = self._leg_share * self.height_cm / middle(self._legs)
        stance = middle(self._stances) if self._stances else None
        if by_ball is not None and by_height is not None:
            if abs(by_height / by_ball - 1.0) <= AGREE_SHARE:
                # Two scale references, each good to about 3 %: their mean is better than either.
                return Scale(ball, math.sqrt(by_ball * by_height), stance, "ball and height")
            if by_ball > by_height:  # a ball half hidden behind the putter looks too small
                return Scale(by_height / self._beyond, by_height, stance, "height")
            return Scale(ball, by_ball, stance, "ball; the height does not fit the picture")
        if by_ball is not None and self._giant(by_ball):
            return Scale(None, None, stance, "none; the ball looks too small for the player")
        if by_ball is not None:
            return Scale(ball, by_ball, stance, "ball")
        if by_height is not None:
            return Scale(by_height / self._beyond, by_height, stance, "height")
        return Scale(None, None, stance, "stance" if stance is not None else "none")

    def _giant(self, by_ball: float) -> bool:
        return bool(self._legs) and by_ball * middle(self._legs) > self._leg_share * TALLEST_CM
