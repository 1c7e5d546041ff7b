"""The shaft found below the hands without knowing where it was."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from trainer.vision.ball.finder import BallSeenImage
from trainer.vision.putter.scene import PutterScene
from trainer.vision.putter.shaft_evidence import Stretch, evidence, likeness
from trainer.vision.putter.shaft_geometry import XY, Ray
from trainer.vision.putter.shaft_prior import ShaftPrior
from trainer.vision.putter.shaft_refine import LineFit, refine
from trainer.vision.putter.shaft_search import best_tilt, search_fan

MIN_LIKENESS, MIN_DIFFERENCE = 0.55, 0.5
# Before a ground as bright as itself the shaft hardly looks like one; what points right behind the ball may still be it, when
# look after look finds the same line. On rendered pictures true lines there have a likeness of 0.13 and more.
FAINT_LIKENESS = 0.10
BEHIND_BALL = (0.25, 1.8)  # ball diameters from the ball's middle to the shaft's line, level with the ball
ONE_LINE_BALLS = 0.5
NEAR_LEGS, FAR_LEGS = 0.28, 0.95  # where a shaft must show, below the hands
ASIDE_LEGS = 0.065  # how far beside the hands its line may pass
MIN_SHARE = 0.5  # of the rows that must show it
FULL_MASS = 40.0
NOTHING_KNOWN = ShaftPrior(1e-4 * np.eye(2), np.zeros(2))


@dataclass(frozen=True, slots=True)
class ShaftFound:
    """ray: level with the hands; confident: it looks like a shaft by itself, else only like one that points to the ball."""

    ray: Ray
    confident: bool


@dataclass(frozen=True, slots=True)
class _Candidate:
    """One line of the fan, in the scene's coordinates. fine: starts below the hands; ray: starts level with them."""

    fine: Ray
    ray: Ray
    fit: LineFit
    aside_px: float


def find_shaft(
    scene: PutterScene, image: Any, hands: XY, ball: BallSeenImage | None, seen_before: bool
) -> ShaftFound | None:
    """The shaft below the hands; None when nothing looks like one.

    seen_before: the background has been seen clear of the putter, so that what differs from it may be the putter.
    """
    part = np.ascontiguousarray(scene.part(image))
    resting = ball if ball is not None and ball.at_rest else None
    toward_deg = None
    if resting is not None:
        toward_deg = math.degrees(math.atan2(resting.x - hands[0], max(1.0, resting.y - hands[1])))
    thin = scene.background.thin_things(image)
    lines = _fan(scene, part, thin, hands, toward_deg)
    found = _most_alike(scene, part, lines, resting if scene.face_on else None)
    if (found is None or not found.confident) and seen_before:
        clean = scene.background.picture.astype(np.uint8)
        different = cv2.transform(cv2.absdiff(part, clean), np.full((1, 3), 0.5, np.float32))
        found = _most_different(scene, _fan(scene, part, different, hands, None)) or found
    return None if found is None else ShaftFound(scene.world_ray(found.ray), found.confident)


def _fan(scene: PutterScene, part: Any, shown: Any, hands: XY, toward_deg: float | None) -> list[_Candidate]:
    """Lines below the hands that pass near them, fitted. shown: (h, w) uint8, bright where a shaft may be."""
    leg, unit = scene.leg_px, scene.unit
    near, far = NEAR_LEGS * leg, FAR_LEGS * leg
    aside = ASIDE_LEGS * leg
    here = scene.local(hands)
    found = []
    for ray in search_fan(shown, here, (near, far), aside, toward_deg):
        where = Stretch(Ray(*ray.place(near), ray.angle_deg), 0.0, far - near, int(10 * unit) + 1)
        level = evidence(part, scene.background, where)
        starts, ends = np.arange(-4.0, 5.0) * unit, np.arange(-7.0, 8.0) * unit
        x0, x1, _ = best_tilt(level, starts, ends, np.zeros((len(starts), len(ends))), 1.0)
        fit = refine(level, (x0, x1), (3.0 * unit, 3.0 * unit), NOTHING_KNOWN)
        if fit is None or fit.share < MIN_SHARE:
            continue
        fine = where.ray.tilted(fit.x0, fit.x1, where.span)
        s, x = fine.measure(here)
        if abs(x) < aside:
            found.append(_Candidate(fine, Ray(*fine.place(s), fine.angle_deg), fit, x))
    return found


def _most_alike(
    scene: PutterScene, part: Any, lines: list[_Candidate], ball: BallSeenImage | None
) -> ShaftFound | None:
    """The line that looks most like a shaft; with none, a faint one right behind the ball."""
    leg = scene.leg_px
    near, far = NEAR_LEGS * leg, FAR_LEGS * leg
    best: tuple[float, Ray] | None = None
    faint: list[tuple[float, float, Ray]] = []  # likeness, ball diameters behind the ball, ray
    for line in lines:
        rank = likeness(part, line.fine, 0.0, far - near, max(5, int(0.038 * leg)))
        rank -= _off_hands(line, leg)
        if rank > MIN_LIKENESS and (best is None or rank > best[0]):
            best = (rank, line.ray)
        if ball is not None and rank > FAINT_LIKENESS:
            behind = _behind_ball(scene, line.fine, ball)
            if BEHIND_BALL[0] < abs(behind) < BEHIND_BALL[1]:
                faint.append((rank, behind, line.ray))
    if best is not None:
        return ShaftFound(best[1], True)
    # Two faint lines beside each other: one may be the edge of a trouser leg, and nothing tells which.
    if not faint or np.ptp([behind for _, behind, _ in faint]) > ONE_LINE_BALLS:
        return None
    return ShaftFound(max(faint, key=lambda f: f[0])[2], False)


def _most_different(scene: PutterScene, lines: list[_Candidate]) -> ShaftFound | None:
    """The line that differs most from the background without the putter."""
    ranked = [
        (line.fit.share * min(1.0, line.fit.mass / FULL_MASS) - _off_hands(line, scene.leg_px), line) for line in lines
    ]
    best = max(ranked, key=lambda r: r[0], default=None)
    return ShaftFound(best[1].ray, True) if best is not None and best[0] > MIN_DIFFERENCE else None


def _off_hands(line: _Candidate, leg_px: float) -> float:
    """What passing beside the hands takes from a line's rank."""
    return 0.1 * abs(line.aside_px) / (ASIDE_LEGS * leg_px)


def _behind_ball(scene: PutterScene, ray: Ray, ball: BallSeenImage) -> float:
    """How far beside the ball's middle the line passes, level with it, in ball diameters."""
    x, y = scene.local((ball.x, ball.y))
    return (ray.x + (y - ray.y) * math.tan(math.radians(ray.angle_deg)) - x) / ball.diameter_px
