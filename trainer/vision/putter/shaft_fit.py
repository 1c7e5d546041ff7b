"""Two jobs with the shaft's line: find it below the hands from nothing, and fit it from one frame to the next."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.numeric import inverse_2x2
from trainer.vision.putter.scene import PutterScene
from trainer.vision.putter.shaft_geometry import XY, Ray, tangent_through
from trainer.vision.putter.shaft_line import ROW_PX, best_tilt, evidence, likeness, refine, search_fan
from trainer.vision.putter.tape import TapeSeen

MIN_LIKENESS = 0.55
# Before a ground as bright as itself the shaft hardly looks like one; what points right behind the ball may still be it, when
# look after look finds the same line. On rendered pictures true lines there have a likeness of 0.13 and more.
FAINT_LIKENESS = 0.10
BEHIND_BALL = (0.25, 1.8)  # ball diameters from the ball's middle to the shaft's line, level with the ball
ONE_LINE_BALLS = 0.5
NEAR_LEGS, FAR_LEGS = 0.28, 0.95  # where a shaft must show, below the hands
HANDS_SIGMA_PX = 1.6  # of the wrists' middle about its usual place beside the shaft (measured on rendered clips)
HANDS_SHARE = 0.22  # of the way from wrists to head that hands and grip hide
HEAD_SHARE, PAST_HEAD_SHARE = 0.96, 1.05  # up to the head; up to its end


@dataclass(frozen=True, slots=True)
class ShaftFit:
    """ray: starts beside the hands; sigma_deg: of its angle; confidence 0..1."""

    ray: Ray
    sigma_deg: float
    confidence: float


@dataclass(frozen=True, slots=True)
class Found:
    """ray: level with the hands; sure: it looks like a shaft by itself, else only like one that points to the ball."""

    ray: Ray
    sure: bool


def find_shaft(
    scene: PutterScene, image: Any, hands: XY, ball: BallSeenImage | None, seen_before: bool
) -> Found | None:
    """The shaft below the hands, without knowing where it was; None when nothing looks like one.

    seen_before: the plate has been seen clear of the putter, so that what differs from it may be the putter.
    """
    part = np.ascontiguousarray(scene.part(image))
    resting = ball if ball is not None and ball.at_rest and scene.face_on else None
    toward = None
    if ball is not None and ball.at_rest:
        toward = math.degrees(math.atan2(ball.x - hands[0], max(1.0, ball.y - hands[1])))
    thin = scene.plate.thin_things(image)
    found = _best_of_fan(scene, part, thin, hands, toward, by_likeness=True, ball=resting)
    if (found is None or not found.sure) and seen_before:
        clean = scene.plate.picture.astype(np.uint8)
        different = cv2.transform(cv2.absdiff(part, clean), np.full((1, 3), 0.5, np.float32))
        found = _best_of_fan(scene, part, different, hands, None, by_likeness=False) or found
    return None if found is None else Found(scene.world_ray(found.ray), found.sure)


def _behind_ball(scene: PutterScene, ray: Ray, ball: BallSeenImage) -> float:
    """How far beside the ball's middle the line passes, level with it, in ball diameters."""
    x, y = scene.local((ball.x, ball.y))
    return (ray.x + (y - ray.y) * math.tan(math.radians(ray.angle_deg)) - x) / ball.diameter_px


def _best_of_fan(
    scene: PutterScene,
    part: Any,
    shown: Any,
    hands: XY,
    toward: float | None,
    by_likeness: bool,
    ball: BallSeenImage | None = None,
) -> Found | None:
    leg, unit = scene.leg_px, scene.unit
    near, far = NEAR_LEGS * leg, FAR_LEGS * leg
    aside = 0.065 * leg
    here = scene.local(hands)
    best: tuple[float, Ray] | None = None
    faint: list[tuple[float, float, Ray]] = []  # likeness, ball diameters behind the ball, ray
    for ray in search_fan(shown, here, (near, far), aside, toward):
        start = Ray(*ray.place(near), ray.angle_deg)
        level = evidence(part, scene.plate, start, 0.0, far - near, int(10 * unit) + 1)
        tilts = np.arange(-4.0, 5.0) * unit, np.arange(-7.0, 8.0) * unit
        x0, x1, _ = best_tilt(level, *tilts, np.zeros((9, 15)), 1.0)
        fit = refine(level, (x0, x1), (3.0 * unit, 3.0 * unit), 1e-4 * np.eye(2), np.zeros(2))
        if fit is None or fit.share < 0.5:
            continue
        fine = start.tilted(fit.x0, fit.x1, level.shape[0] * ROW_PX)
        s, x = fine.measure(here)
        if by_likeness:
            rank = likeness(part, fine, 0.0, far - near, max(5, int(0.038 * leg)))
            limit = MIN_LIKENESS
        else:
            rank, limit = fit.share * min(1.0, fit.mass / 40.0), 0.5
        rank -= 0.1 * abs(x) / aside
        if abs(x) >= aside:
            continue
        level_with_hands = Ray(*fine.place(s), fine.angle_deg)
        if rank > limit and (best is None or rank > best[0]):
            best = (rank, level_with_hands)
        if ball is not None and rank > FAINT_LIKENESS:
            behind = _behind_ball(scene, fine, ball)
            if BEHIND_BALL[0] < abs(behind) < BEHIND_BALL[1]:
                faint.append((rank, behind, level_with_hands))
    if best is not None:
        return Found(best[1], True)
    # Two faint lines beside each other: one may be the edge of a trouser leg, and nothing tells which.
    if not faint or np.ptp([behind for _, behind, _ in faint]) > ONE_LINE_BALLS:
        return None
    return Found(max(faint, key=lambda f: f[0])[2], False)


def fit_shaft(
    scene: PutterScene,
    image: Any,
    guess: Ray,
    angle_sigma_deg: float,
    hands: XY,
    offset_px: float,
    length_px: float,
    smear: float,
    tape: TapeSeen | None,
) -> ShaftFit | None:
    """The shaft around the guess; None when too little of it shows.

    guess: predicted, with the angle's sigma; offset_px: where the hands are beside the shaft as a rule; smear: motion
    blur of the head (px); tape: when seen, the shaft passes its middle.
    """
    unit = scene.unit
    first = HANDS_SHARE * length_px
    predicted_deg = guess.angle_deg
    if tape is not None:
        guess = tangent_through(hands, (tape.x, tape.y), offset_px)
        last = guess.measure((tape.x, tape.y))[0]
    else:
        last = PAST_HEAD_SHARE * length_px
    if last - first < 20 * unit:
        return None
    turn_px = math.radians(angle_sigma_deg) * (last - first)
    half = int(8 * unit + smear + (0.0 if tape is not None else 2.5 * turn_px))
    part = scene.part(image)
    level = evidence(part, scene.plate, scene.local_ray(guess), first, last - first, half)
    span = level.shape[0] * ROW_PX
    last = first + span
    # Known before looking: the wrists keep their place beside the shaft, the shaft turns about as fast as before, and
    # it passes the tape.
    at_hands = np.array([last / span, -first / span])  # x beside the hands, from x at both ends
    turning = np.array([-1.0, 1.0])
    turn_sigma = max(turn_px, 0.5 * unit)
    information = (
        np.outer(at_hands, at_hands) / (HANDS_SIGMA_PX * unit) ** 2 + np.outer(turning, turning) / turn_sigma**2
    )
    known = turning * (span * math.tan(math.radians(predicted_deg - guess.angle_deg)) / turn_sigma**2)
    starts = np.arange(-6.0, 7.0) * unit
    ends = np.array([0.0])
    if tape is not None:
        information = information + np.diag([0.0, 1.0 / (0.12 * unit + 0.03 * smear) ** 2])
    else:
        wide = min(half - 2.0, 5.0 * unit + 2.0 * turn_px)
        ends = np.arange(-round(wide), round(wide) + 1.0)
    grid = np.stack(np.meshgrid(starts, ends, indexing="ij"), axis=-1) - inverse_2x2(information) @ known
    cost = 0.6 * np.einsum("...i,ij,...j->...", grid, information, grid)
    x0, x1, clear = best_tilt(level, starts, ends, cost, 0.6 * smear)
    window = (2.5 * unit + 0.25 * smear, 2.5 * unit + 0.6 * smear)
    if tape is None:
        # The head helps to tell the shaft from other lines, but need not lie evenly about the shaft: now leave it out.
        rows = max(4, int((HEAD_SHARE * length_px - first) / ROW_PX))
        shorter = rows / level.shape[0]
        level = level[:rows]
        back = np.array([[1.0, 0.0], [1.0 - 1.0 / shorter, 1.0 / shorter]])  # ends of the whole from ends of the part
        x1 = x0 + shorter * (x1 - x0)
        information, known = back.T @ information @ back, back.T @ known
        span *= shorter
    fit = refine(level, (x0, x1), window, information, known)
    if fit is None:
        if tape is None:
            return None
        return ShaftFit(Ray(guess.x, guess.y, guess.angle_deg), 1.0, 0.7 * min(1.0, tape.share / 0.6))
    line = Ray(*guess.place(first), guess.angle_deg).tilted(fit.x0, fit.x1, span)
    s, _ = line.measure(hands)
    beyond = (length_px - first) / span
    at_head = np.array([1.0 - beyond, beyond])
    sigma_px = math.sqrt(float(at_head @ fit.covariance @ at_head))
    sigma_deg = math.degrees(math.sqrt(float(turning @ fit.covariance @ turning)) / span)
    confidence = max(0.05, 1.0 - sigma_px / (5.0 * unit))
    confidence *= min(1.0, tape.share / 0.6) if tape is not None else min(1.0, fit.share / 0.3, 0.3 + clear)
    return ShaftFit(Ray(*line.place(s), line.angle_deg), sigma_deg, min(0.98, confidence))
