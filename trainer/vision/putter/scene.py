"""The part of the picture the putter moves in: sizes by the player's legs, and the background without the putter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import cv2
import numpy as np

from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.body.points import BodyPoints, leg_length_px, looks_face_on
from trainer.vision.putter.background_model import BackgroundModel, Box
from trainer.vision.putter.shaft_geometry import XY, Ray

Source = Literal["tape", "shaft"]

BALL_PER_LEG = 0.062  # ball diameter over leg length until a ball has been measured (see ball.search.DIAMETER_PER_LEG)
BALL_PER_LEG_DTL = 0.051  # the same down the line, where the putter hides half of the ball and it cannot be measured
UNIT_LEG_PX = 155.0  # leg length of a player filling a picture 480 high, for which the pixel sizes here were found
MIN_LEG_PX = 20.0  # of smaller players no shaft is to be seen
UNSEEN_FRAMES, UNSEEN_REACH_BALLS = 4, 5.0
UPDATE_S = 0.025  # between two updates of the background: every frame of 30 a second, every second one of 60
EXPOSURE_SHARE = 0.5  # of the frame time a webcam's shutter is open in a lit room (common practice, no source)


@dataclass(frozen=True, slots=True)
class PutterSeenImage:
    """The putter in one picture.

    grip: where the shaft leaves the hands; head: sole at the shaft's end; butt: where the shaft's line passes the
    wrists (butt-head is the shaft's axis); shaft_deg: from straight down, + = head to the right of the hands in the
    picture. confidence 0..1, below 0.5 when bridged by prediction. tape: its middle, when that was used.
    """

    grip: XY
    head: XY
    butt: XY
    shaft_deg: float
    confidence: float
    source: Source
    tape: XY | None = None


class PutterScene:
    """Made once the player's legs and hands are seen; made again when the player moves away from it.

    leg_px: hip-knee-ankle length; unit: px per pixel of the standard picture; line_px: widest a shaft or tape looks.
    """

    def __init__(self, image: Any, hands: XY, body: BodyPoints, leg_px: float, box: Box) -> None:
        self.leg_px = leg_px
        self.unit = leg_px / UNIT_LEG_PX
        self.line_px = max(3.0, 0.028 * leg_px)
        self.face_on = looks_face_on(body, leg_px)
        self.box = box
        self._anchor = hands
        self._ball_px: float | None = None
        self._ball: BallSeenImage | None = None
        self._ball_before: BallSeenImage | None = None
        self._ball_rest: BallSeenImage | None = None
        self._ball_last: XY | None = None
        self._unseen_frames = 0
        self._updated_s = -math.inf
        # Down the line the head lies broadside and would fill the median: take a wider one on the ground.
        self._ground_y = None if self.face_on else float(np.mean([body[n][1] for n in _ANKLES if n in body]))
        self.relit(image)

    @staticmethod
    def around(image: Any, hands: XY, body: BodyPoints | None) -> PutterScene | None:
        """The scene around these hands; None when no leg is seen to judge sizes by, or too little or too small a part of it."""
        leg = leg_length_px(body)
        if leg is None or body is None or leg < MIN_LEG_PX:
            return None
        height, width = image.shape[:2]
        lowest = max([body[n][1] for n in _ANKLES if n in body] + [hands[1] + leg])
        box = Box(
            max(0, int(hands[0] - 1.2 * leg)),
            max(0, int(hands[1] - 0.15 * leg)),
            min(width, int(hands[0] + 1.2 * leg)),
            min(height, int(lowest + 0.5 * leg)),
        )
        if box.x1 - box.x0 < 0.8 * leg or box.y1 - box.y0 < 0.8 * leg:
            return None
        return PutterScene(image, hands, body, leg, box)

    def relit(self, image: Any) -> None:
        """From this picture on all is in other grey levels: the background is learned anew."""
        self.background = BackgroundModel(image, self.box, self.line_px, self._ground_y)

    def left_behind(self, hands: XY, still: bool) -> bool:
        """True when the player has moved on, so that a new scene is needed."""
        moved = math.dist(hands, self._anchor)
        return moved > (0.45 if still else 1.1) * self.leg_px

    def part(self, image: Any) -> Any:
        """The picture inside the box."""
        return self.box.of(image)

    def local(self, p: XY) -> XY:
        return p[0] - self.box.x0, p[1] - self.box.y0

    def local_ray(self, ray: Ray) -> Ray:
        return Ray(*self.local((ray.x, ray.y)), ray.angle_deg)

    def world_ray(self, ray: Ray) -> Ray:
        return Ray(ray.x + self.box.x0, ray.y + self.box.y0, ray.angle_deg)

    @property
    def ball_px(self) -> float:
        """The ball's diameter, or the usual one."""
        return self._ball_px or (BALL_PER_LEG if self.face_on else BALL_PER_LEG_DTL) * self.leg_px

    def note_ball(self, ball: BallSeenImage | None) -> None:
        """Remember its size; once it has left, its place in the background is bare ground."""
        self._ball_before, self._ball = self._ball, ball
        if ball is not None:
            self._ball_last = (ball.x, ball.y)
        if ball is not None and ball.at_rest and ball.confidence >= 0.5:
            self._ball_rest, self._unseen_frames = ball, 0
            if self.face_on:
                self._ball_px = ball.diameter_px
            return
        self._unseen_frames = 0 if ball is not None and not ball.at_rest else self._unseen_frames + 1
        if self._ball_rest is not None and (ball is None or not ball.at_rest):
            gone, self._ball_rest = self._ball_rest, None
            self.background.clear_disc(gone.x, gone.y, 0.75 * gone.diameter_px)

    def update(self, image: Any, time_s: float, hands: XY, seen: PutterSeenImage | None, before: XY | None) -> None:
        """Bring the background up to date where the putter is not. before: the head's place one frame ago."""
        if time_s - self._updated_s < UPDATE_S:
            return
        self._updated_s = time_s
        mask: Any = np.zeros((self.box.y1 - self.box.y0, self.box.x1 - self.box.x0), np.uint8)
        hx, hy = self.local(hands)
        at = (round(hx), round(hy))
        if seen is None or seen.confidence < 0.5:
            # It is somewhere within a shaft's length of the hands: touch nothing there.
            cv2.circle(mask, at, int(1.5 * self.leg_px), _HIDDEN, -1)
        else:
            self._cover(mask, seen, before)
            cv2.circle(mask, at, int(0.17 * self.leg_px), _HIDDEN, -1)
        self._cover_ball(mask)
        self.background.update(image, mask)

    def _cover_ball(self, mask: Any) -> None:
        """A ball on its way must not stay behind in the background; in frames that lose it, it may be on either side."""
        ball = self._ball
        if self._ball_last is None or (ball is not None and ball.at_rest and ball.confidence >= 0.5):
            return
        if ball is None and self._unseen_frames > UNSEEN_FRAMES:
            return
        size = self.ball_px
        x, y = self.local(self._ball_last)
        if ball is not None and not ball.at_rest:
            before = self._ball_before
            reach = 1.2 * size + (0.0 if before is None else 0.6 * abs(ball.x - before.x))
        else:
            reach = UNSEEN_REACH_BALLS * size
        corners = (round(x - reach), round(y - 1.3 * size)), (round(x + reach), round(y + 1.3 * size))
        cv2.rectangle(mask, *corners, _HIDDEN, -1)

    def _cover(self, mask: Any, seen: PutterSeenImage, before: XY | None) -> None:
        smear = smear_px(before, seen.head)
        (bx, by), (x, y) = self.local(seen.butt), self.local(seen.head)
        cv2.line(mask, (round(bx), round(by)), (round(x), round(y)), _HIDDEN, int(0.06 * self.leg_px + smear) | 1)
        radius = int(0.085 * self.leg_px)
        cv2.circle(mask, (round(x), round(y)), radius, _HIDDEN, -1)
        if before is not None and smear > 2:
            dx, dy = 0.4 * (seen.head[0] - before[0]), 0.4 * (seen.head[1] - before[1])
            for sign in (-1, 1):
                cv2.circle(mask, (round(x + sign * dx), round(y + sign * dy)), radius, _HIDDEN, -1)


def smear_px(before: XY | None, now: XY) -> float:
    """Length over which the open shutter smears a thing that moved from ``before`` to ``now`` in one frame."""
    return 0.0 if before is None else EXPOSURE_SHARE * math.dist(before, now)


_HIDDEN = (255,)
_ANKLES = ("left_ankle", "right_ankle")
