"""The putter, frame by frame: shaft line and head, by a band of tape or by the shaft alone.

Coordinates: px, top left corner of the picture at (0, 0) (centre of the first pixel at 0.5, 0.5), x right, y down. Nothing
here asks for handedness or view. Causal: an answer uses this frame and the ones before it.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import Any, Literal, Mapping

import cv2
import numpy as np

from trainer.vision.ball import BallSeenImage, leg_length_px
from trainer.vision.putter_foot import ShaftLength, end_of_putter, far_edge, foot_by_ball, foot_length
from trainer.vision.putter_plate import Box, CleanPlate
from trainer.vision.putter_shaft import ROW_PX, best_tilt, evidence, likeness, refine, search_fan
from trainer.vision.putter_strip import XY, Ray, tangent_through, through
from trainer.vision.putter_tape import TapeColour, TapeSeen, learn_tape, locate_tape

BodyPoints = Mapping[str, tuple[float, float, float]]
Source = Literal["tape", "shaft"]

BALL_PER_LEG = 0.062  # ball diameter over leg length when no ball has been measured (see ball.DIAMETER_PER_LEG)
TAPE_TO_FOOT_BALLS = 12.0 / 4.267  # the advice to the player: middle of the tape 12 cm above the sole
SHAFT_LEGS = (0.75, 1.65)  # hands to head over leg length
GRIP_SHARE = 0.17  # where the lower hand ends, from the wrists toward the head: about 12 of 70 cm
MIN_LIKENESS = 0.55
BRIDGE_S = 0.12  # longest drop-out bridged by the pendulum's motion
RETRY_S = 0.1
ADDRESS_LEGS = 0.08  # the head rests within this share of the leg length of its address place, about 6 cm
RELEARN_S = 0.4
HANDS_SIGMA_PX = (
    1.6  # of the wrists' middle about its usual place beside the shaft, at leg length 155 px (measured on clips)
)


@dataclass(frozen=True, slots=True)
class PutterSeenImage:
    """The putter in one picture.

    grip: where the shaft leaves the hands; head: sole at the shaft's foot; butt: where the shaft's line passes the wrists (the
    line butt-head is the shaft's axis); shaft_deg: from straight down, + = head to the right of the hands in the picture.
    confidence 0..1, below 0.5 when bridged by prediction.
    """

    grip: XY
    head: XY
    butt: XY
    shaft_deg: float
    confidence: float
    source: Source
    tape: XY | None = None


@dataclass(frozen=True, slots=True)
class _Track:
    """The last frame's answer. offset_px: of the hands to the right of the shaft; speed in deg/s."""

    time_s: float
    ray: Ray
    hands: XY
    angle_speed: float
    offset_px: float
    confidence: float
    tape: XY | None


class PutterTracker:
    """Follows the putter. ``update`` once a frame in order of time; ``reset`` for a new player or clip.

    tape: "auto" looks for tape at address and uses it when there is some; "off" never does. ``reason`` says why the last
    update gave None; ``mode`` is what is tracked by now.
    """

    def __init__(self, tape: Literal["auto", "off"] = "auto") -> None:
        self.tape_wanted = tape
        self.reset()

    def reset(self) -> None:
        self.reason = "putter not found yet"
        self._plate: CleanPlate | None = None
        self._anchor: XY = (0.0, 0.0)
        self._leg = 0.0
        self._track: _Track | None = None
        self._colour: TapeColour | None = None
        self._tape_s: deque[float] = deque(maxlen=25)  # hands to tape along the shaft, at rest
        self._tape_to_foot: deque[float] = deque(maxlen=25)
        self._shaft = ShaftLength()
        self._address_head: XY | None = None
        self._ball_size: float | None = None
        self._ball_rest: BallSeenImage | None = None
        self._heads: deque[tuple[float, XY]] = deque(maxlen=6)
        self._next_try_s = -math.inf
        self._next_look_s = -math.inf

    @property
    def mode(self) -> Source | None:
        """ "tape" once its colour is known, "shaft" while a shaft without tape is tracked, None before."""
        return "tape" if self._colour is not None else "shaft" if self._track is not None else None

    def update(
        self,
        image: Any,
        time_s: float,
        hands_xy: XY | None,
        body: BodyPoints | None,
        ball: BallSeenImage | None = None,
    ) -> PutterSeenImage | None:
        """The putter in this frame, or None with ``reason``.

        image: (h, w, 3) uint8 BGR; hands_xy: middle of both wrists (px); body: pose points by MediaPipe's names.
        """
        hands_seen = hands_xy is not None
        if hands_xy is None and self._track is not None and time_s - self._track.time_s <= BRIDGE_S:
            hands_xy = self._track.hands
        if hands_xy is None:
            return self._lose("no hands seen")
        if not self._ready(image, hands_xy, body):
            return self._lose("no legs seen to judge sizes by")
        assert self._plate is not None
        self._forget_ball(ball)
        if self._track is None:
            seen = self._acquire(image, time_s, hands_xy, ball) if hands_seen else None
        else:
            seen = self._follow(image, time_s, hands_xy, ball)
        covered = self._covered(hands_xy, seen)
        self._plate.update(image, covered)
        return seen

    # --- the place it works in ---------------------------------------------------------------------------------------

    def _ready(self, image: Any, hands: XY, body: BodyPoints | None) -> bool:
        """Sizes by the legs, and a plate around the hands and the ground; False without legs."""
        leg = leg_length_px(body)
        if self._plate is not None and leg is not None:
            moved = math.dist(hands, self._anchor)
            still = self._track is None or abs(self._track.angle_speed) < 20.0
            if (moved > 0.45 * self._leg and still) or moved > 1.1 * self._leg:
                self._plate = None
        if self._plate is not None:
            return True
        if leg is None or body is None:
            return False
        height, width = image.shape[:2]
        ankles = [body[f"{side}_ankle"][1] for side in ("left", "right") if f"{side}_ankle" in body]
        box = Box(
            max(0, int(hands[0] - 1.2 * leg)),
            max(0, int(hands[1] - 0.15 * leg)),
            min(width, int(hands[0] + 1.2 * leg)),
            min(height, int(max([*ankles, hands[1] + leg]) + 0.5 * leg)),
        )
        if box.x1 - box.x0 < 0.8 * leg or box.y1 - box.y0 < 0.8 * leg:
            return False
        self._leg, self._anchor, self._address_head = leg, hands, None
        self._face_on = _looks_face_on(body, leg)
        self._line_px = max(3.0, 0.028 * leg)
        ground_y = None if self._face_on else float(np.mean(ankles)) if ankles else None
        self._plate = CleanPlate(image, box, self._line_px, ground_y)
        return True

    def _covered(self, hands: XY, seen: PutterSeenImage | None) -> Any:
        """uint8 mask of the box: what the putter, the hands and the head hide now; everything below the hands if unknown."""
        assert self._plate is not None
        box = self._plate.box
        mask = np.zeros((box.y1 - box.y0, box.x1 - box.x0), np.uint8)
        at = lambda p: (round(p[0] - box.x0), round(p[1] - box.y0))  # noqa: E731
        if seen is None:
            if self._track is None and not self._heads:
                cv2.circle(mask, at(hands), int(1.5 * self._leg), 255, -1)
            else:
                cv2.circle(mask, at(hands), int(1.3 * self._leg), 255, -1)
            return mask
        smear = self._smear(seen.head)
        cv2.line(mask, at(seen.butt), at(seen.head), 255, int(0.06 * self._leg + smear) | 1)
        radius = int(0.085 * self._leg)
        cv2.circle(mask, at(seen.head), radius, 255, -1)
        if smear > 2:
            before = self._heads[-2][1] if len(self._heads) > 1 else seen.head
            dx, dy = 0.4 * (seen.head[0] - before[0]), 0.4 * (seen.head[1] - before[1])
            for sign in (-1, 1):
                cv2.circle(mask, at((seen.head[0] + sign * dx, seen.head[1] + sign * dy)), radius, 255, -1)
        cv2.circle(mask, at(hands), int(0.17 * self._leg), 255, -1)
        return mask

    def _smear(self, head: XY) -> float:
        return 0.5 * math.dist(self._heads[-2][1], head) if len(self._heads) > 1 else 0.0

    def _lose(self, reason: str) -> None:
        self.reason = reason
        self._track = None
        self._heads.clear()

    def _local(self, p: XY) -> XY:
        assert self._plate is not None
        return p[0] - self._plate.box.x0, p[1] - self._plate.box.y0

    def _local_ray(self, ray: Ray) -> Ray:
        return Ray(*self._local((ray.x, ray.y)), ray.angle_deg)

    def _ball_px(self, ball: BallSeenImage | None) -> float:
        if ball is not None:
            self._ball_size = ball.diameter_px
        return self._ball_size or BALL_PER_LEG * self._leg

    def _forget_ball(self, ball: BallSeenImage | None) -> None:
        """Once the ball has left, its place on the plate is bare ground."""
        if ball is not None and ball.at_rest:
            self._ball_rest = ball
        elif self._ball_rest is not None:
            assert self._plate is not None
            gone, self._ball_rest = self._ball_rest, None
            self._plate.clear_disc(gone.x, gone.y, 0.75 * gone.diameter_px)

    # --- finding it ----------------------------------------------------------------------------------------------------

    def _acquire(self, image: Any, time_s: float, hands: XY, ball: BallSeenImage | None) -> PutterSeenImage | None:
        if time_s < self._next_try_s:
            return None
        self._next_try_s = time_s + RETRY_S
        assert self._plate is not None
        part = np.ascontiguousarray(self._plate.box.of(image))
        thin = self._plate.thin_things(image)
        leg = self._leg
        near, far = 0.28 * leg, 0.95 * leg
        toward = None
        if ball is not None and ball.at_rest:
            toward = math.degrees(math.atan2(ball.x - hands[0], max(1.0, ball.y - hands[1])))
        best: tuple[float, Ray] | None = None
        for ray in search_fan(thin, self._local(hands), (near, far), 0.065 * leg, toward):
            start = Ray(*ray.place(near), ray.angle_deg)
            level = evidence(part, self._plate.picture, start, 0.0, far - near, 10)
            x0, x1, _ = best_tilt(level, np.arange(-4.0, 5.0), np.arange(-7.0, 8.0), np.zeros((9, 15)), 1.0)
            fit = refine(level, (x0, x1), (3.0, 3.0), 1e-4 * np.eye(2))
            if fit is None or fit.share < 0.5:
                continue
            fine = start.tilted(fit.x0, fit.x1, level.shape[0] * ROW_PX)
            rank = likeness(part, fine, 0.0, far - near, max(5, int(0.038 * leg)))
            s, x = fine.measure(self._local(hands))
            rank -= 0.1 * abs(x) / (0.065 * leg)
            if best is None or rank > best[0]:
                best = (rank, Ray(*fine.place(s), fine.angle_deg))
        if best is None or best[0] < MIN_LIKENESS:
            self.reason = "no shaft seen below the hands"
            return None
        ray = Ray(best[1].x + self._plate.box.x0, best[1].y + self._plate.box.y0, best[1].angle_deg)
        self._learn(image, ray, ball)
        return self._answer(time_s, ray, hands, None, 0.0, 0.6)

    def _learn(self, image: Any, ray: Ray, ball: BallSeenImage | None) -> None:
        """At rest: where the foot is, and the tape if there is any."""
        assert self._plate is not None
        ball_px = self._ball_px(ball)
        by_ball = None
        if ball is not None and ball.at_rest and ball.confidence >= 0.5:
            by_ball = foot_by_ball(ray, (ball.x, ball.y), ball_px)
        # At the finish the putter also rests, but above the ground and elsewhere.
        known, head = self._address_head, ray.place(self._length())
        address = known is None or math.dist(head, known) < ADDRESS_LEGS * self._leg
        if (by_ball is None or not self._face_on) and not address:
            return
        part, local = self._plate.box.of(image), self._local_ray(ray)
        if self.tape_wanted == "auto" and self._colour is None:
            found = learn_tape(part, local, by_ball or self._length(), ball_px)
            if found is not None:
                self._colour = found[0]
        tape_s = self._measure_tape(image, ray) if self._colour is not None else None
        guess, shortest = by_ball or self._length(), 0.0
        if tape_s is not None:
            shortest = tape_s + 1.2 * ball_px
            guess = max(guess, shortest) if self._shaft.learned else tape_s + TAPE_TO_FOOT_BALLS * ball_px
        by_end = end_of_putter(part, local, guess, ball_px, self._line_px, shortest)
        length = foot_length(by_ball, by_end, ball_px, self._face_on)
        if length is None or not SHAFT_LEGS[0] * self._leg < length < SHAFT_LEGS[1] * self._leg:
            return
        edge = far_edge(part, self._plate.picture, local, length + 0.7 * ball_px, 0.09 * length, self._edge_half(0.0))
        self._shaft.learn(length, edge)
        self._address_head = ray.place(length)
        if tape_s is not None:
            self._tape_to_foot.append(length - tape_s)

    def _edge_half(self, smear: float) -> int:
        return int(max(2.0, 0.018 * self._leg + 0.4 * smear))

    def _measure_tape(self, image: Any, ray: Ray) -> float | None:
        """Where along the ray the tape is (px), at rest."""
        tape = self._find_tape(image, self._tape_guess(ray), (0.16 if self._tape_s else 0.6) * self._leg, 0.0)
        if tape is None:
            return None
        s, x = ray.measure((tape.x, tape.y))
        if abs(x) > 0.03 * self._leg:
            return None
        self._tape_s.append(s)
        return s

    def _length(self) -> float:
        return self._shaft.now_px or 1.12 * self._leg

    def _tape_guess(self, ray: Ray) -> XY:
        return ray.place(float(np.median(self._tape_s)) if self._tape_s else 0.8 * self._length())

    def _find_tape(self, image: Any, at: XY, reach: float, smear: float) -> TapeSeen | None:
        assert self._plate is not None and self._colour is not None
        box = self._plate.box
        seen = locate_tape(box.of(image), self._plate.picture, self._colour, self._local(at), reach, smear)
        return None if seen is None else TapeSeen(seen.x + box.x0, seen.y + box.y0, seen.share, seen.area_px)

    # --- following it --------------------------------------------------------------------------------------------------

    def _follow(self, image: Any, time_s: float, hands: XY, ball: BallSeenImage | None) -> PutterSeenImage | None:
        assert self._track is not None and self._plate is not None
        old = self._track
        dt = max(time_s - old.time_s, 1e-3)
        angle = old.ray.angle_deg + old.angle_speed * dt
        nx, ny = Ray(0, 0, angle).across
        guess = Ray(hands[0] - old.offset_px * nx, hands[1] - old.offset_px * ny, angle)
        length = self._length()
        swing_px = abs(math.radians(old.angle_speed * dt)) * length + 0.5 * math.dist(hands, old.hands)
        smear = 0.5 * (math.dist(self._heads[-1][1], guess.place(length)) if self._heads else 0.0)
        tape = None
        if self._colour is not None:
            tape = self._find_tape(image, self._tape_guess(guess), 0.11 * self._leg + 0.6 * swing_px, smear)
            if tape is not None and self._tape_s:
                distance = math.dist(hands, (tape.x, tape.y))
                if abs(distance / float(np.median(self._tape_s)) - 1) > 0.2:
                    tape = None
        fitted = self._fit(image, guess, hands, tape, smear, swing_px)
        if fitted is None:
            if time_s - old.time_s > BRIDGE_S:
                return self._lose("putter lost: blurred or hidden")  # type: ignore[func-returns-value]
            head = self._head(guess, None)
            return self._make(guess, hands, head, max(0.1, 0.45 - 2.5 * dt), None)
        ray, confidence = fitted
        if tape is not None and self._tape_to_foot:
            self._shaft.set(ray.measure((tape.x, tape.y))[0] + float(np.median(self._tape_to_foot)))
        elif self._shaft.edge_beyond_px is not None:
            part = self._plate.box.of(image)
            expected = self._shaft.expected_px(dt) + self._shaft.edge_beyond_px
            half = self._edge_half(smear)
            edge = far_edge(part, self._plate.picture, self._local_ray(ray), expected, (0.05 if self._face_on else 0.075) * length, half)
            self._shaft.follow(edge, dt, self._face_on)
        if self._at_rest(time_s) and time_s >= self._next_look_s:
            self._next_look_s = time_s + (RELEARN_S if self._shaft.learned > 6 else RETRY_S)
            self._learn(image, ray, ball)
        return self._answer(time_s, ray, hands, tape, dt, confidence)

    def _fit(
        self, image: Any, guess: Ray, hands: XY, tape: TapeSeen | None, smear: float, swing_px: float
    ) -> tuple[Ray, float] | None:
        """The shaft's ray (starting beside the hands) and a confidence, from the evidence around the guess."""
        assert self._plate is not None
        unit = self._leg / 155.0
        first = 0.22 * self._length()
        if tape is not None:
            old_offset = self._track.offset_px if self._track is not None else 0.0
            guess = tangent_through(hands, (tape.x, tape.y), old_offset)
            last = guess.measure((tape.x, tape.y))[0]
        else:
            last = 0.96 * self._length()
        half = int(8 * unit + (0.0 if tape is not None else 0.35 * swing_px) + smear)
        part = self._plate.box.of(image)
        level = evidence(part, self._plate.picture, self._local_ray(guess), first, last - first, half)
        span = level.shape[0] * ROW_PX
        last = first + span
        # What is known before the picture: the wrists keep their place beside the shaft; the shaft passes the tape, or turns
        # about as fast as before.
        hands_sigma = HANDS_SIGMA_PX * unit
        at_hands = np.array([last / span, -first / span])  # x at the hands from x at both ends
        information = np.outer(at_hands, at_hands) / hands_sigma**2
        if tape is not None:
            end_sigma = 0.12 * unit + 0.03 * smear
            information = information + np.diag([0.0, 1.0 / end_sigma**2])
            starts, ends = np.arange(-6.0, 7.0), np.array([0.0])
        else:
            turn_sigma = 2.0 * unit + 0.3 * swing_px
            information = information + np.outer([-1.0, 1.0], [-1.0, 1.0]) / turn_sigma**2
            wide = min(half - 2.0, 5.0 * unit + 0.3 * swing_px)
            starts, ends = np.arange(-5.0, 6.0), np.arange(-round(wide), round(wide) + 1.0)
        grid = np.stack(np.meshgrid(starts, ends, indexing="ij"), axis=-1)
        prior = (
            1.2 * np.einsum("...i,ij,...j->...", grid, information, grid)
            if tape is None
            else 0.25 * ((starts[:, None] / (2 * hands_sigma)) ** 2)
        )
        x0, x1, gain = best_tilt(level, starts, ends, prior, 0.6 * smear)
        fit = refine(level, (x0, x1), (2.5 * unit + 0.25 * smear, 2.5 * unit + 0.6 * smear), information)
        if fit is None:
            if tape is None:
                return None
            return Ray(guess.x, guess.y, guess.angle_deg), 0.7 * min(1.0, tape.share / 0.6)
        start = Ray(*guess.place(first), guess.angle_deg)
        line = start.tilted(fit.x0, fit.x1, span)
        s, _ = line.measure(hands)
        ray = Ray(*line.place(s), line.angle_deg)
        to_head = (self._length() - first) / span
        at_head = np.array([1.0 - to_head, to_head])
        sigma = math.sqrt(float(at_head @ fit.covariance @ at_head))
        confidence = max(0.05, 1.0 - sigma / (3.5 * unit))
        confidence *= min(1.0, tape.share / 0.6) if tape is not None else min(1.0, fit.share / 0.3)
        return ray, min(0.98, confidence)

    def _at_rest(self, time_s: float) -> bool:
        if len(self._heads) < 5 or time_s - self._heads[0][0] > 0.5:
            return False
        places = np.array([p for _, p in self._heads])
        return bool(np.ptp(places, axis=0).max() < 0.008 * self._leg)

    # --- answering -----------------------------------------------------------------------------------------------------

    def _head(self, ray: Ray, tape: TapeSeen | None) -> XY:
        if tape is not None:
            s, x = ray.measure((tape.x, tape.y))
            rest = self._tape_to_foot
            to_foot = float(np.median(rest)) if rest else TAPE_TO_FOOT_BALLS * BALL_PER_LEG * self._leg
            return ray.place(s + to_foot, x)
        return ray.place(self._length())

    def _answer(
        self, time_s: float, ray: Ray, hands: XY, tape: TapeSeen | None, dt: float, confidence: float
    ) -> PutterSeenImage:
        old = self._track
        speed = 0.0 if old is None or dt <= 0 else (ray.angle_deg - old.ray.angle_deg) / dt
        _, offset = ray.measure(hands)
        if old is not None:
            offset = old.offset_px + 0.15 * (offset - old.offset_px)
        head = self._head(ray, tape)
        self._heads.append((time_s, head))
        place = None if tape is None else (tape.x, tape.y)
        self._track = _Track(time_s, ray, hands, speed, offset, confidence, place)
        return self._make(ray, hands, head, confidence, tape)

    def _make(self, ray: Ray, hands: XY, head: XY, confidence: float, tape: TapeSeen | None) -> PutterSeenImage:
        self.reason = ""
        axis = through((ray.x, ray.y), head)
        grip = axis.place(GRIP_SHARE * math.dist((ray.x, ray.y), head))
        source: Source = "tape" if tape is not None else "shaft"
        place = None if tape is None else (tape.x, tape.y)
        return PutterSeenImage(grip, head, (ray.x, ray.y), axis.angle_deg, confidence, source, place)


def _looks_face_on(body: BodyPoints, leg: float) -> bool:
    """Shoulders as wide as from the front, not one behind the other."""
    left, right = body.get("left_shoulder"), body.get("right_shoulder")
    return left is None or right is None or abs(left[0] - right[0]) > 0.25 * leg
