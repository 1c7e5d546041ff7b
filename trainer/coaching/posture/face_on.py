"""Measures of the address seen face-on: ball position between the feet, stance, what is level, hands and head by the ball.

The camera is near and rarely straight in front, and the ball lies half a metre nearer to it than the ankles. So the picture is
taken apart: the ball's size gives its distance; the ground runs through the ball, level by the camera's tilt; the toes on
that ground tell how far behind the ball the feet are; and what is asked for is measured along the target line, not along
the picture's rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Callable

import numpy as np

from trainer.coaching.posture.address import AddressSeen, Mark, middle
from trainer.coaching.posture.body_model import (
    BALL_CM,
    BALL_RADIUS_CM,
    FACE_ON_LEG_PER_HEIGHT,
    USUAL_HEIGHT_CM,
)
from trainer.coaching.posture.scale_reference import ScaleReference, disagreement
from trainer.domain.perspective import CameraView, Floats, on_plane, sphere_distance_cm
from trainer.domain.picture_edge import thing_words
from trainer.domain.record import Measure
from trainer.texts import tr

# How far the ankle joints are behind the ball, across the target line: rendered players 45 +- 6 cm, 0.272 +- 0.03 heights.
ANKLES_BEHIND_BALL_CM, ANKLES_BEHIND_BALL, ANKLES_SPREAD_CM = 45.0, 0.272, 5.0
HIPS_BEHIND_ANKLES_CM = 10.0  # rendered 12 +- 2, the knees about above the ankles
ANKLES_DOUBT_CM = 8.0  # the same with what the toes' marks are off by
LOWEST_CAMERA_CM = 15.0  # a camera on the ground sees no depth along it
# Face-on the pose model marks a toe this high above the ground and this far before the ankle joint (rendered, +- 0.9 cm).
TOE_HEIGHT_CM, TOE_SPREAD_CM, TOE_BEFORE_ANKLE_CM = 0.7, 0.9, 13.0
# Where the other points hang, across the target line from the ball toward the player, at a usual address (rendered).
SHOULDERS_BEHIND_BALL_CM, HEAD_BEHIND_BALL_CM, HANDS_BEHIND_BALL_CM = 23.0, 8.0, 22.0
NAMES = (
    "ball_position", "ball_widths", "stance_cm", "shoulder_level_deg", "eyes_level_deg", "hands_ahead_cm", "head_ahead_cm",
)  # fmt: skip


@dataclass(frozen=True)
class Scene:
    """Places in camera axes (cm). ball: its centre; behind_cm: ankle joints behind the ball across the line;
    toes_behind_cm: the toes by themselves, from where they stand on the ground, None when not seen.
    """

    seen: AddressSeen
    ball: Floats
    along: Floats
    across: Floats
    up: Floats
    behind_cm: float
    toes_behind_cm: float | None

    def at(self, mark: Mark, behind_ball_cm: float) -> Floats:
        """The place of a point known to be so far behind the ball across the line, relative to the ball (along, across, up)."""
        plane = float(self.across @ self.ball) - behind_ball_cm
        place = on_plane(self.seen.camera.ray(mark.x, mark.y), self.across, plane) - self.ball
        return np.array([place @ self.along, place @ self.across, place @ self.up])


def scene(seen: AddressSeen) -> Scene | None:
    """The picture in space, or None without a ball of a known size."""
    ball = seen.ball
    if ball is None:
        return None
    along, across, up = seen.camera.axes
    depth = sphere_distance_cm(seen.camera, ball.x, ball.y, ball.diameter_px, BALL_CM)
    centre = seen.camera.ray(ball.x, ball.y) * depth
    toes = _toes_behind(seen, centre, across, up)
    height = seen.height_cm
    if height is None:  # taller players stand farther back, so it is worth telling from the legs first
        behind = _ankles_behind(centre, across, up, toes, USUAL_HEIGHT_CM)
        height = _height_by_legs(Scene(seen, centre, along, across, up, behind, toes)) or USUAL_HEIGHT_CM
    return Scene(seen, centre, along, across, up, _ankles_behind(centre, across, up, toes, height), toes)


def scale_reference(seen: AddressSeen) -> ScaleReference | None:
    """The ball as scale reference, and how the player's height, told by the legs in the picture, compares. None: no ball."""
    found = scene(seen)
    if found is None:
        return None
    distance = float(found.ball[2])
    by_ball = _height_by_legs(found)
    if by_ball is None:
        return ScaleReference("ball", USUAL_HEIGHT_CM, distance)
    ratio = None if seen.height_cm is None else by_ball / seen.height_cm
    return ScaleReference("ball", by_ball, distance, ratio, disagreement(ratio, False))


def _height_by_legs(found: Scene) -> float | None:
    """The player's height (cm) by the ball and the legs in the picture; None when no leg is seen whole."""
    legs = []
    for side in ("lead", "trail"):
        joints = [found.seen.mark(f"{side}_{part}") for part in ("hip", "knee", "ankle")]
        if None in joints:
            continue
        behind = (found.behind_cm + HIPS_BEHIND_ANKLES_CM, found.behind_cm, found.behind_cm)
        places = [found.at(mark, far)[[0, 2]] for mark, far in zip(joints, behind, strict=True) if mark is not None]
        legs.append(sum(float(np.linalg.norm(a - b)) for a, b in pairwise(places)))
    return float(np.mean(legs)) / FACE_ON_LEG_PER_HEIGHT if legs else None


def unlikely(seen: AddressSeen) -> Callable[[CameraView], float]:
    """For the camera's stand: how far from usual it would put the feet behind the ball, squared, in standard deviations."""

    def misfit(camera: CameraView) -> float:
        there = scene(replace(seen, camera=camera))
        if there is None or there.toes_behind_cm is None:
            return 0.0
        return ((there.toes_behind_cm + TOE_BEFORE_ANKLE_CM - ANKLES_BEHIND_BALL_CM) / ANKLES_DOUBT_CM) ** 2

    return misfit


def _toes_behind(seen: AddressSeen, ball: Floats, across: Floats, up: Floats) -> float | None:
    """How far behind the ball the toes are (cm), both together: where their marks meet the ground."""
    ground = float(up @ ball) - BALL_RADIUS_CM
    if -ground < LOWEST_CAMERA_CM:
        return None
    found = []
    for side in ("lead", "trail"):
        toe = seen.mark(f"{side}_toe")
        if toe is not None:
            place = on_plane(seen.camera.ray(toe.x, toe.y), up, ground + TOE_HEIGHT_CM)
            if np.isfinite(place).all():
                found.append(float((ball - place) @ across))
    return float(np.mean(found)) if found else None


def _ankles_behind(ball: Floats, across: Floats, up: Floats, toes: float | None, height_cm: float) -> float:
    """How far behind the ball the ankles are (cm): where the toes stand, weighed against what is usual for that height."""
    expected = ANKLES_BEHIND_BALL * height_cm
    if toes is None:
        return expected
    above_ground_cm = BALL_RADIUS_CM - float(up @ ball)  # of the camera
    away = -float(ball @ across) + expected
    spread = math.hypot(TOE_SPREAD_CM * away / above_ground_cm, 2.0)
    own, usual = 1 / spread**2, 1 / ANKLES_SPREAD_CM**2
    return (own * (toes + TOE_BEFORE_ANKLE_CM) + usual * expected) / (own + usual)


def _unseen(unit: str, reason: str) -> Measure:
    return Measure(None, unit, 0.0, reason)


def measures(seen: AddressSeen) -> dict[str, Measure]:
    """All of NAMES; None with a reason for what was not seen. Without a ball only what is level can be told."""
    found = scene(seen)
    out = {
        "ball_position": _unseen("", tr("no ball seen")),
        "ball_widths": _unseen(tr("ball widths"), tr("no ball seen")),
    }
    out |= {name: _unseen("cm", tr("no ball seen")) for name in ("stance_cm", "hands_ahead_cm", "head_ahead_cm")}
    out |= _level(seen, found)
    if found is None:
        return out
    surely = seen.line_sure * (min(1.0, seen.ball.confidence / 0.7) if seen.ball is not None else 0.0)
    out |= _feet(found, surely)
    for name, part, behind in (
        ("hands_ahead_cm", "wrist", HANDS_BEHIND_BALL_CM),
        ("head_ahead_cm", "ear", HEAD_BEHIND_BALL_CM),
    ):
        lead, trail = seen.mark(f"lead_{part}"), seen.mark(f"trail_{part}")
        if lead is None or trail is None:
            out[name] = _unseen("cm", tr("{words} not seen", words=thing_words("hands" if part == "wrist" else "head")))
            continue
        centre = middle(lead, trail)
        out[name] = Measure(float(found.at(centre, behind)[0]), "cm", surely * centre.confidence)
    return out


def _feet(found: Scene, surely: float) -> dict[str, Measure]:
    lead, trail = found.seen.mark("lead_ankle"), found.seen.mark("trail_ankle")
    if lead is None or trail is None:
        return {name: _unseen(unit, tr("feet not seen")) for name, unit in (("ball_position", ""), ("stance_cm", "cm"))}
    at_lead, at_trail = (float(found.at(mark, found.behind_cm)[0]) for mark in (lead, trail))
    stance = at_lead - at_trail
    if stance < 5.0:
        reason = tr("the feet are together")
        return {
            "ball_position": _unseen("", reason),
            "ball_widths": _unseen(tr("ball widths"), reason),
            "stance_cm": Measure(stance, "cm", surely),
        }
    surely *= min(lead.confidence, trail.confidence)
    return {
        "ball_position": Measure(-at_trail / stance, "", surely),
        "ball_widths": Measure(-(at_lead + at_trail) / 2 / BALL_CM, tr("ball widths"), surely),
        "stance_cm": Measure(stance, "cm", surely),
    }


def _level(seen: AddressSeen, found: Scene | None) -> dict[str, Measure]:
    """Angle of shoulders and head from level, + lead side higher, in the upright plane along the target line.

    The eyes of a bowed head are too close together to tell it alone: eyes and ears together, the longer pair counting more.
    """
    out = {}
    for name, parts, behind in (
        ("shoulder_level_deg", ("shoulder",), SHOULDERS_BEHIND_BALL_CM),
        ("eyes_level_deg", ("eye", "ear"), HEAD_BEHIND_BALL_CM),
    ):
        pairs = [(seen.mark(f"lead_{part}"), seen.mark(f"trail_{part}")) for part in parts]
        runs = [_run(seen, found, a, b, behind) for a, b in pairs if a is not None and b is not None]
        if not runs:
            out[name] = _unseen("deg", tr("{parts}s not seen", parts=parts[0]))
            continue
        run = np.sum(runs, axis=0)
        sure = min(mark.confidence for pair in pairs for mark in pair if mark is not None)
        sure *= seen.upright_sure * (1.0 if parts == ("shoulder",) else 0.7)
        out[name] = Measure(math.degrees(math.atan2(run[1], run[0])), "deg", sure)
    return out


def _run(seen: AddressSeen, found: Scene | None, lead: Mark, trail: Mark, behind_cm: float) -> Floats:
    """From trail to lead, (along, up), in any unit of length."""
    if found is not None:
        run = found.at(lead, behind_cm) - found.at(trail, behind_cm)
        return np.array([run[0], run[2]])
    along, across, up = seen.camera.axes
    places = [on_plane(seen.camera.ray(mark.x, mark.y), across, -1.0) for mark in (lead, trail)]
    apart = places[0] - places[1]
    return np.array([apart @ along, apart @ up])
