"""The putter, frame by frame: shaft line and head, by a band of tape or by the shaft alone.

Coordinates: px, top left corner of the picture at (0, 0) (centre of the first pixel at 0.5, 0.5), x right, y down.
Nothing here asks for handedness or view. Causal: an answer uses this frame and the ones before it.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Any, Literal

from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.body.points import BodyPoints
from trainer.vision.focus import sharpened
from trainer.vision.numeric import middle
from trainer.vision.putter.address import PutterAddress, edge_half_px
from trainer.vision.putter.motion import ShaftMotion
from trainer.vision.putter.scene import PutterScene, PutterSeenImage, Source, smear_px
from trainer.vision.putter.shaft_end import head_far_edge
from trainer.vision.putter.shaft_finder import find_shaft
from trainer.vision.putter.shaft_fit import fit_shaft
from trainer.vision.putter.shaft_geometry import XY, Ray, through
from trainer.vision.putter.shaft_prior import ExpectedShaft
from trainer.vision.putter.tape import TapeSeen, hue_of

__all__ = ["PutterSeenImage", "PutterTracker"]

GRIP_SHARE = 0.17  # where the lower hand ends, from the wrists toward the head: about 12 of 70 cm
DROPOUT_S = 0.12  # s: not found for longer than this, the track is lost; until then the pendulum's motion goes on
RETRY_S = 0.1
LEARN_S, RELEARN_S = 0.06, 0.4
ENOUGH_LOOKS = 7
UNMEASURED_CONFIDENCE = 0.45  # while the shaft's length is only taken from the legs'
FIRST_SIGMA_DEG = 0.5
# Frames stamped when they came and not when they were taken come in bunches: a step is no less than this share of their beat.
LEAST_STEP, STEPS = 0.8, 15
# Hands that have moved by more, while the head that is followed lies within half of it: a putter's head goes farther than they.
LEFT_BEHIND_LEGS = 0.03
FAINT_LOOKS, FAINT_S = 3, 0.6  # so many looks within so long must find the same faint line
FAINT_DEG, FAINT_BALLS = 0.8, 0.4  # the same: this near in direction, and at its end in ball diameters


@dataclass(slots=True)
class _Track:
    """Where it was in the last frame that showed it. offset_px: of the hands, to the right of the shaft."""

    time_s: float
    ray: Ray
    hands: XY
    offset_px: float
    turning: ShaftMotion
    confident_s: float  # when it was last seen with some confidence
    lay: tuple[XY, XY] | None = None  # hands and head when it came to lie where it lies


class PutterTracker:
    """Follows the putter. ``update`` once a frame in order of time; ``reset`` for a new player or clip.

    tape: "auto" looks for tape at address and uses it when there is some; "off" never does. tape_colour: "auto", a
    name or "#rrggbb" (see putter.tape.hue_of; SettingsError when it is none of these). ``reason`` says why the last
    update gave None; ``mode`` is what is tracked by now.
    """

    def __init__(self, tape: Literal["auto", "off"] = "auto", tape_colour: str = "auto") -> None:
        self._tape_wanted = tape
        self._hue_deg = hue_of(tape_colour)
        self.reset()

    def reset(self) -> None:
        self.reason = "putter not found yet"
        self._scene: PutterScene | None = None
        self._address = PutterAddress(self._tape_wanted, self._hue_deg)
        self._track: _Track | None = None
        self._heads: deque[tuple[float, XY]] = deque(maxlen=6)
        self._faint: deque[tuple[float, Ray]] = deque(maxlen=8)
        self._steps_s: deque[float] = deque(maxlen=STEPS)
        self._next_try_s = -math.inf
        self._next_look_s = -math.inf
        self._relit = False

    def moved(self) -> None:
        """What stands still is elsewhere in the picture from now on: the ground is learned anew."""
        self._scene = None

    def relit(self) -> None:
        """The next picture shows the same in other grey levels."""
        self._relit = True

    @property
    def mode(self) -> Source | None:
        """ "tape" once its colour is known, "shaft" while a shaft without tape is tracked, None before."""
        return "tape" if self._address.colour is not None else "shaft" if self._track is not None else None

    def update(
        self,
        image: Any,
        time_s: float,
        hands_xy: XY | None,
        body: BodyPoints | None,
        ball: BallSeenImage | None = None,
        blurred: bool = False,
    ) -> PutterSeenImage | None:
        """The putter in this frame, or None with ``reason``.

        image: (h, w, 3) uint8 BGR; hands_xy: middle of both wrists (px); body: points by name; blurred: it is sharpened first.
        """
        track = self._track
        hands = hands_xy
        if hands is None and track is not None and time_s - track.time_s <= DROPOUT_S:
            hands = track.hands
        if hands is None:
            self._lose("no hands seen")
            return None
        still = track is None or abs(track.turning.speed_deg_s) < 20.0
        if self._scene is not None and self._scene.left_behind(hands, still):
            self._scene = None
        if blurred:
            image = sharpened(image, self._scene.box if self._scene is not None else None)
        if self._scene is None:
            self._scene = PutterScene.around(image, hands, body)
            self._address.moved_away()
        elif self._relit:
            self._scene.relit(image)
        if self._scene is None:
            self._lose("no legs seen to judge sizes by")
            return None
        self._relit = False
        self._scene.note_ball(ball)
        before = self._heads[-1][1] if self._heads else None
        if track is not None:
            seen = self._follow(self._scene, track, image, time_s, hands, ball)
        else:
            seen = self._start(self._scene, image, time_s, hands, ball) if hands_xy is not None else None
        self._scene.update(image, time_s, hands, seen, before)
        return seen

    def _lose(self, reason: str) -> None:
        self.reason = reason
        self._track = None
        self._heads.clear()
        self._next_try_s = -math.inf

    def _start(
        self, scene: PutterScene, image: Any, time_s: float, hands: XY, ball: BallSeenImage | None
    ) -> PutterSeenImage | None:
        if time_s < self._next_try_s:
            return None
        self._next_try_s = time_s + RETRY_S
        found = find_shaft(scene, image, hands, ball, seen_before=self._address.shaft.learned > 0)
        if found is None or not (found.confident or self._found_again(scene, time_s, found.ray)):
            self.reason = "no shaft seen below the hands"
            return None
        ray = found.ray
        tape = self._address.find_tape(scene, image, ray, 0.15 * scene.leg_px)
        _, offset = ray.measure(hands)
        turning = ShaftMotion(ray.angle_deg, FIRST_SIGMA_DEG)
        self._track = _Track(time_s, ray, hands, offset, turning, time_s)
        return self._answer(time_s, ray, self._head(scene, ray, tape), UNMEASURED_CONFIDENCE, tape)

    def _found_again(self, scene: PutterScene, time_s: float, ray: Ray) -> bool:
        """Whether enough looks by now have found this faint line."""
        self._faint.append((time_s, ray))
        length = self._address.length_px(scene)
        x, y = ray.place(length)
        alike = 0
        for at_s, other in self._faint:
            ox, oy = other.place(length)
            near = (
                abs(other.angle_deg - ray.angle_deg) < FAINT_DEG
                and math.hypot(ox - x, oy - y) < FAINT_BALLS * scene.ball_px
            )
            alike += near and time_s - at_s < FAINT_S
        return alike >= FAINT_LOOKS

    def _follow(
        self, scene: PutterScene, track: _Track, image: Any, time_s: float, hands: XY, ball: BallSeenImage | None
    ) -> PutterSeenImage | None:
        dt = self._step_s(time_s - track.time_s)
        angle, sigma = track.turning.expected(dt)
        nx, ny = Ray(0.0, 0.0, angle).across
        ray = Ray(hands[0] - track.offset_px * nx, hands[1] - track.offset_px * ny, angle)
        length = self._address.length_px(scene)
        smear = smear_px(self._heads[-1][1], ray.place(length)) if self._heads else 0.0
        reach = 0.11 * scene.leg_px + math.radians(2 * sigma) * length + 0.5 * smear
        tape = self._address.find_tape(scene, image, ray, reach)
        if tape is not None and not self._address.tape_fits(math.dist(hands, (tape.x, tape.y))):
            tape = None
        left_behind = self._left_behind(scene, track, hands)
        expected = ExpectedShaft(ray, sigma, track.offset_px, length, smear, left_behind)
        fit = fit_shaft(scene, image, hands, expected, tape)
        if fit is not None and fit.confidence >= 0.5:
            track.confident_s = time_s
        if time_s - track.confident_s > DROPOUT_S:
            self._lose("putter lost: blurred or hidden")
            return None
        if fit is None or fit.confidence < 0.5:
            # _track stays as it was, so that the next frame predicts from the last one seen.
            head = ray.place(self._address.shaft.expected_px(dt) or length)
            return self._answer(time_s, ray, head, max(0.1, 0.48 - 1.5 * dt), None)
        ray = fit.ray
        track.turning.update(dt, ray.angle_deg, fit.sigma_deg)
        _, offset = ray.measure(hands)
        track.time_s, track.ray, track.hands = time_s, ray, hands
        track.offset_px += 0.15 * (offset - track.offset_px)
        self._follow_length(scene, image, ray, dt, smear, tape)
        if self._at_rest(scene, time_s) and time_s >= self._next_look_s:
            self._next_look_s = time_s + (LEARN_S if self._address.shaft.learned < ENOUGH_LOOKS else RELEARN_S)
            self._address.learn(scene, image, ray, ball)
        confidence = fit.confidence if self._address.shaft.learned else min(fit.confidence, UNMEASURED_CONFIDENCE)
        return self._answer(time_s, ray, self._head(scene, ray, tape), confidence, tape)

    def _left_behind(self, scene: PutterScene, track: _Track, hands: XY) -> bool:
        """Whether the hands have moved and the head, as it is followed, has not."""
        if not self._heads:
            return False
        head, far = self._heads[-1][1], LEFT_BEHIND_LEGS * scene.leg_px
        if track.lay is None or math.dist(head, track.lay[1]) > far / 2:
            track.lay = hands, head
        return abs(hands[0] - track.lay[0][0]) > far

    def _step_s(self, since_s: float) -> float:
        """Since the last frame that showed it; how fast it moves is told by it."""
        self._steps_s.append(since_s)
        mean = sum(self._steps_s) / len(self._steps_s)
        beat = middle(s for s in self._steps_s if s >= 0.5 * mean)
        return max(since_s, LEAST_STEP * beat, 1e-3)

    def _follow_length(
        self, scene: PutterScene, image: Any, ray: Ray, dt: float, smear: float, tape: TapeSeen | None
    ) -> None:
        """Wrists to the shaft's end may change: the wrists slip along the grip, the putter comes nearer to the camera."""
        shaft = self._address.shaft
        if tape is not None:
            shaft.set(ray.measure((tape.x, tape.y))[0] + self._address.tape_to_end_px(scene))
        elif shaft.edge_beyond_px is not None and shaft.now_px is not None:
            expected = shaft.expected_px(dt) + shaft.edge_beyond_px
            reach = shaft.reach_px(dt, scene.face_on)
            half = edge_half_px(scene, smear)
            local = scene.local_ray(ray)
            edge = head_far_edge(scene.part(image), scene.background, local, expected, reach, half)
            shaft.follow(edge, dt, scene.face_on)

    def _head(self, scene: PutterScene, ray: Ray, tape: TapeSeen | None) -> XY:
        if tape is None:
            return ray.place(self._address.length_px(scene))
        s, x = ray.measure((tape.x, tape.y))
        return ray.place(s + self._address.tape_to_end_px(scene), x)

    def _at_rest(self, scene: PutterScene, time_s: float) -> bool:
        if len(self._heads) < 5 or time_s - self._heads[0][0] > 0.5:
            return False
        # Along the shaft the head is known less well; face-on a putter that moves moves across, down the line along.
        xs, ys = zip(*(place for _, place in self._heads), strict=True)
        along = 0.03 if scene.face_on else 0.015
        return bool(max(xs) - min(xs) < 0.012 * scene.leg_px and max(ys) - min(ys) < along * scene.leg_px)

    def _answer(self, time_s: float, ray: Ray, head: XY, confidence: float, tape: TapeSeen | None) -> PutterSeenImage:
        self.reason = ""
        self._heads.append((time_s, head))
        axis = through((ray.x, ray.y), head)
        grip = axis.place(GRIP_SHARE * math.dist((ray.x, ray.y), head))
        place = None if tape is None else (tape.x, tape.y)
        source: Source = "shaft" if tape is None else "tape"
        return PutterSeenImage(grip, head, (ray.x, ray.y), axis.angle_deg, confidence, source, place)
