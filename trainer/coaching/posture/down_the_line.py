"""Measures of the address seen down the line: eye line, hands under the shoulders, spine, knees, trail elbow, hips.

All is measured in the upright plane across the target line, through the middle of the body. Where a point lies before or
behind that plane (the near shoulder, the far one) its share of the body's width is taken into account, because the camera
stands so near that it shows; the lean of the picture and its running together of upright lines likewise.
The scale reference is the player: ankle, knee, hip and shoulder side-on are a known share of the height. The ball is a poor
scale reference here, for the putter stands before it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Mapping

import numpy as np

from trainer.coaching.posture import body_model as model
from trainer.coaching.posture.address import AddressSeen
from trainer.coaching.posture.body_model import CHAIN_PER_HEIGHT, FAR_SIDE, NEAR_SIDE
from trainer.coaching.posture.scale_reference import BALL_AHEAD_CM, ScaleReference, height_for
from trainer.domain.perspective import Floats, on_plane
from trainer.domain.record import Measure
from trainer.texts import tr

NAMES = (
    "eye_line_cm", "hands_plumb_cm", "spine_tilt_deg", "knee_flex_deg", "elbow_deg", "elbow_plumb_cm", "hips_back_cm",
)  # fmt: skip
FIRST_GUESS_CM = 280.0
MOST_HIDDEN = 0.5  # share of the ball's width


@dataclass(frozen=True)
class Side:
    """The player side-on: name -> (across, up) cm, across + away from the player; ball likewise; the scale reference used."""

    points: Mapping[str, Floats]
    ball: Floats | None
    scale: ScaleReference

    def middle(self, part: str) -> Floats:
        return np.asarray((self.points[f"lead_{part}"] + self.points[f"trail_{part}"]) / 2)


def flat(seen: AddressSeen, distance_cm: float, height_cm: float) -> dict[str, Floats]:
    """All points as (across, up) cm, the middle of the body being distance_cm along the line from the camera."""
    along, across, up = seen.camera.axes
    out = {}
    for name, mark in seen.points.items():
        side, _, part = name.partition("_")
        farther = {"lead": FAR_SIDE.get(part, 0.0), "trail": -NEAR_SIDE.get(part, 0.0)}.get(side, 0.0) * height_cm
        place = on_plane(seen.camera.ray(mark.x, mark.y), along, distance_cm + farther)
        out[name] = np.array([place @ across, place @ up])
    return out


def chain_cm(points: Mapping[str, Floats]) -> float:
    """Trail ankle - knee - hip, and middle of the hips - middle of the shoulders."""
    hips = (points["lead_hip"] + points["trail_hip"]) / 2
    shoulders = (points["lead_shoulder"] + points["trail_shoulder"]) / 2
    leg = np.linalg.norm(points["trail_ankle"] - points["trail_knee"]) + np.linalg.norm(
        points["trail_knee"] - points["trail_hip"]
    )
    return float(leg + np.linalg.norm(hips - shoulders))


def distance_for(seen: AddressSeen, height_cm: float) -> float:
    """How far along the line (cm) a player of that height stands, from how long the body looks."""
    distance = FIRST_GUESS_CM
    for _ in range(4):  # lengths grow as the distance does, but for the body's own width: settles at once
        distance *= CHAIN_PER_HEIGHT * height_cm / chain_cm(flat(seen, distance, height_cm))
    return distance


def side_on(seen: AddressSeen) -> Side:
    """The player in the upright plane across the line. Needs shoulders, hips, and the near leg among the points."""
    scale = height_for(seen, lambda height: distance_for(seen, height))
    points = flat(seen, scale.distance_cm, scale.height_cm)
    return Side(points, _ball_place(seen, scale.distance_cm + BALL_AHEAD_CM), scale)


def _ball_place(seen: AddressSeen, distance_cm: float) -> Floats | None:
    """The ball's centre as (across, up) cm.

    The shaft comes down from the player's side and hides that side of the ball; what is left looks too small, and its outer
    edge is the ball's own. So the centre is told from the outer edge by the size that a whole ball has at that distance.
    """
    if seen.ball is None:
        return None
    along, across, up = seen.camera.axes
    ball = seen.ball
    place = on_plane(seen.camera.ray(ball.x, ball.y), along, distance_cm)
    whole_px = seen.camera.focal_px * model.BALL_CM / float(place[2])
    hidden_px = min(max(0.0, whole_px - ball.diameter_px), MOST_HIDDEN * whole_px)
    place = on_plane(seen.camera.ray(ball.x - hidden_px / 2, ball.y), along, distance_cm)
    return np.array([place @ across, place @ up])


def near_side_seen(seen: AddressSeen) -> bool:
    """Whether all is seen that the scale reference and most measures need."""
    return all(seen.mark(f"trail_{part}") is not None for part in ("hip", "knee", "ankle", "shoulder"))


def measures(seen: AddressSeen) -> dict[str, Measure]:
    """All of NAMES; None with a reason for what was not seen."""
    if not near_side_seen(seen):
        return {name: Measure(None, _unit(name), 0.0, tr("the player's near side is not seen")) for name in NAMES}
    side = side_on(seen)
    tilt = seen.upright_sure  # of the plumb line itself
    length = tilt * side.scale.confidence
    out = {"eye_line_cm": _eye_line(seen, side, length)}
    out |= _hands(seen, side, length)
    trunk = side.middle("shoulder") * (1 - model.NECK_TOWARD_EARS) + side.middle("ear") * model.NECK_TOWARD_EARS
    hips = side.points["trail_hip"] * (1 - model.HIPS_TOWARD_FAR) + side.points["lead_hip"] * model.HIPS_TOWARD_FAR
    trunk = trunk - hips
    spine = math.degrees(math.atan2(trunk[0], trunk[1])) + model.SPINE_TILT_OFF_DEG
    out["spine_tilt_deg"] = Measure(spine, "deg", 0.95 * tilt * _least(seen, "trail_hip", "trail_shoulder"))
    near = {part: side.points[f"trail_{part}"] for part in ("hip", "knee", "ankle")}
    bend = 180.0 - angle_deg(near["hip"], near["knee"], near["ankle"])
    from_behind = math.degrees(math.atan2(near["knee"][0], side.scale.distance_cm))
    flex = bend + model.KNEE_FLEX_OFF_DEG + model.KNEE_FLEX_PER_DEG * from_behind
    out["knee_flex_deg"] = Measure(max(0.0, flex), "deg", 0.9 * _least(seen, "trail_hip", "trail_knee", "trail_ankle"))
    back = near["ankle"][0] - side.middle("hip")[0] + model.HIPS_BACK_OFF * side.scale.height_cm
    out["hips_back_cm"] = Measure(float(back), "cm", 0.8 * length)
    return out


def _eye_line(seen: AddressSeen, side: Side, sure: float) -> Measure:
    if side.ball is None or seen.ball is None:
        return Measure(None, "cm", 0.0, tr("no ball seen"))
    if seen.mark("trail_eye") is None:
        return Measure(None, "cm", 0.0, tr("eyes not seen"))
    inside = side.ball[0] - side.points["trail_eye"][0]  # of the far eye the model sees nothing
    return Measure(float(inside), "cm", sure * min(1.0, seen.ball.confidence / 0.6) * _least(seen, "trail_eye"))


def _hands(seen: AddressSeen, side: Side, sure: float) -> dict[str, Measure]:
    """Hands and trail elbow against the plumb line of the shoulders; the elbow's bend."""
    height = side.scale.height_cm
    if seen.mark("trail_wrist") is None or seen.mark("trail_elbow") is None:
        return {
            name: Measure(None, _unit(name), 0.0, tr("the near arm is not seen"))
            for name in ("hands_plumb_cm", "elbow_deg", "elbow_plumb_cm")
        }
    shoulders = side.middle("shoulder")[0]
    elbow = side.points["trail_elbow"]
    bend = angle_deg(side.points["trail_shoulder"], elbow, side.points["trail_wrist"]) + model.ELBOW_OFF_DEG
    arm = _least(seen, "trail_elbow", "trail_wrist")
    away = float(side.middle("wrist")[0] - shoulders + model.HANDS_PLUMB_OFF * height)
    return {
        "hands_plumb_cm": Measure(away, "cm", sure * _least(seen, "trail_wrist", "trail_shoulder")),
        "elbow_deg": Measure(min(180.0, bend), "deg", 0.5 * arm),
        "elbow_plumb_cm": Measure(float(elbow[0] - shoulders + model.ELBOW_PLUMB_OFF * height), "cm", 0.8 * sure * arm),
    }


def angle_deg(a: Floats, b: Floats, c: Floats) -> float:
    """Angle at b between the ways to a and to c, 0..180."""
    to_a, to_c = a - b, c - b
    cross = float(to_a[0] * to_c[1] - to_a[1] * to_c[0])
    return math.degrees(math.atan2(abs(cross), float(to_a @ to_c)))


def _least(seen: AddressSeen, *names: str) -> float:
    return min(seen.points[name].confidence for name in names)


def _unit(name: str) -> str:
    return "deg" if name.endswith("_deg") else "cm"
