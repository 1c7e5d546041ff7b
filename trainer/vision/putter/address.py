"""What is learned about the putter while it rests at address: its length in the picture, and the tape on it."""

from __future__ import annotations

import math
from collections import deque
from typing import Any, Literal

from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.numeric import middle
from trainer.vision.putter.scene import PutterScene
from trainer.vision.putter.shaft_end import ShaftEndFinder, ShaftLength, best_length, end_by_ball, head_far_edge
from trainer.vision.putter.shaft_geometry import XY, Ray
from trainer.vision.putter.tape import TapeColour, TapeSeen, learn_tape, locate_tape

TAPE_TO_END_BALLS = 12.0 / 4.267  # the advice to the player: middle of the tape 12 cm above the sole
SHAFT_LEGS = (0.75, 1.65)  # wrists to head over leg length
USUAL_SHAFT_LEGS = 1.12
TAPE_LOOKS = 3  # looks that must find it, or miss it, before its colour is used, or forgotten
ADDRESS_LEGS = 0.08  # the head rests within this share of the leg length of its address place, about 6 cm


class PutterAddress:
    """Wrists to the shaft's end, the tape's colour and its place on the shaft."""

    def __init__(self, tape: Literal["auto", "off"], tape_hue_deg: float | None = None) -> None:
        self.shaft = ShaftLength()
        self._colour: TapeColour | None = None
        self._tape_found = self._tape_missed = 0
        self._tape_wanted = tape == "auto"
        self._hue_deg = tape_hue_deg
        self._tape_s: deque[float] = deque(maxlen=25)  # wrists to tape along the shaft, at rest
        self._tape_to_end: deque[float] = deque(maxlen=25)
        self._end = ShaftEndFinder()
        self._head: XY | None = None

    @property
    def colour(self) -> TapeColour | None:
        """The tape's, once several looks have found it at its place on the shaft."""
        return self._colour if self._tape_found >= TAPE_LOOKS else None

    def moved_away(self) -> None:
        """The player stands elsewhere: the next rest is an address again."""
        self._head = None

    def length_px(self, scene: PutterScene) -> float:
        return self.shaft.now_px or USUAL_SHAFT_LEGS * scene.leg_px

    def tape_to_end_px(self, scene: PutterScene) -> float:
        if self._tape_to_end:
            return middle(self._tape_to_end)
        return TAPE_TO_END_BALLS * scene.ball_px

    def tape_fits(self, distance_px: float) -> bool:
        """Whether a tape this far from the hands can be the one learned."""
        return not self._tape_s or abs(distance_px / middle(self._tape_s) - 1.0) < 0.2

    def learn(self, scene: PutterScene, image: Any, ray: Ray, ball: BallSeenImage | None) -> None:
        """One look at a putter at rest; does nothing when that is not at address."""
        by_ball = None
        if ball is not None and ball.at_rest and ball.confidence >= 0.5:
            by_ball = end_by_ball(ray, (ball.x, ball.y), ball.diameter_px)
        # At the finish the putter also rests, but above the ground and elsewhere.
        here = ray.place(self.length_px(scene))
        at_address = self._head is None or math.dist(here, self._head) < ADDRESS_LEGS * scene.leg_px
        if not at_address and (by_ball is None or not scene.face_on):
            return
        part, local, ball_px = scene.part(image), scene.local_ray(ray), scene.ball_px
        tape_s = self._look_at_tape(scene, image, ray, by_ball) if self._tape_wanted else None
        expected, shortest, by_tape = by_ball or self.length_px(scene), 0.0, None
        if tape_s is not None:
            shortest, by_tape = tape_s + 1.2 * ball_px, tape_s + TAPE_TO_END_BALLS * ball_px
            expected = max(expected, shortest) if self.shaft.learned else by_tape
        if self._head is None or math.dist(here, self._head) > 0.25 * ball_px:
            self._end.clear()
        self._end.look(part, local, scene.leg_px, scene.line_px)
        by_end = self._end.find(expected, ball_px, shortest)
        length = best_length(by_ball, by_end, by_tape, ball_px, scene.face_on)
        if length is None or not SHAFT_LEGS[0] * scene.leg_px < length < SHAFT_LEGS[1] * scene.leg_px:
            return
        half = edge_half_px(scene, 0.0)
        edge = head_far_edge(part, scene.background, local, length + 0.7 * ball_px, 0.09 * length, half)
        if not self.shaft.learn(length, edge, length == by_ball):
            return
        self._head = ray.place(length)
        if tape_s is not None:
            self._tape_to_end.append(length - tape_s)

    def _look_at_tape(self, scene: PutterScene, image: Any, ray: Ray, by_ball: float | None) -> float | None:
        """Where along the ray the tape is (px), at rest. A colour that does not last is forgotten again."""
        if self._colour is None:
            length = by_ball or self.length_px(scene)
            found = learn_tape(scene.part(image), scene.local_ray(ray), length, scene.ball_px, self._hue_deg)
            if found is None:
                return None
            self._colour, place = found
            self._tape_s.append(scene.local_ray(ray).measure(place)[0])
            self._tape_found, self._tape_missed = 0, 0
        tape = self._find(scene, image, ray, 0.16 * scene.leg_px)
        s, x = (0.0, math.inf) if tape is None else ray.measure((tape.x, tape.y))
        usual = middle(self._tape_s)
        if abs(x) > 0.03 * scene.leg_px or abs(s - usual) > 0.1 * scene.leg_px:
            self._tape_missed += 1
            if self._tape_missed >= TAPE_LOOKS:
                self._colour = None
                self._tape_found = 0
                self._tape_s.clear()
                self._tape_to_end.clear()
            return None
        if abs(s - usual) > 0.03 * scene.leg_px:
            self._tape_s.clear()  # the player has moved
        self._tape_s.append(s)
        self._tape_found, self._tape_missed = self._tape_found + 1, 0
        return s

    def find_tape(self, scene: PutterScene, image: Any, ray: Ray, reach_px: float) -> TapeSeen | None:
        """The tape near where it belongs on the ray; None before it is known for certain."""
        return self._find(scene, image, ray, reach_px) if self.colour is not None else None

    def _find(self, scene: PutterScene, image: Any, ray: Ray, reach_px: float) -> TapeSeen | None:
        if self._colour is None:
            return None
        at = scene.local(ray.place(middle(self._tape_s)))
        seen = locate_tape(scene.part(image), scene.background.picture, self._colour, at, reach_px)
        if seen is None:
            return None
        return TapeSeen(seen.x + scene.box.x0, seen.y + scene.box.y0, seen.share, seen.area_px)


def edge_half_px(scene: PutterScene, smear: float) -> int:
    """Half the width of the strip in which the head's far edge is looked for."""
    return int(max(2.0, 0.018 * scene.leg_px + 0.4 * smear))
