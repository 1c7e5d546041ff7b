"""The lines of a posture in the picture: plumb lines, limbs and gaps, each belonging to one measure. Pure geometry.

All in the picture of ``AddressSeen`` (mirrored for a left-hander). A plumb line follows gravity as this camera sees it, so in a
tilted picture it is tilted too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from trainer.coaching.posture import down_the_line, face_on
from trainer.coaching.posture.address import AddressSeen, Mark, middle
from trainer.coaching.posture.body_model import BALL_RADIUS_CM
from trainer.domain.perspective import Floats

XY = tuple[float, float]
Kind = Literal["plumb", "limb", "gap"]


@dataclass(frozen=True, slots=True)
class Line:
    """From a to b (px). plumb: against gravity or level, dashed; limb: along the body; gap: what is measured."""

    a: XY
    b: XY
    kind: Kind


@dataclass(frozen=True, slots=True)
class Drawn:
    """The lines of one measure and where its number goes (px); before: to the left of that place, not to the right."""

    name: str
    lines: tuple[Line, ...]
    at: XY
    before: bool = False


def figure(seen: AddressSeen) -> list[Drawn]:
    """The lines of every measure that this picture can show."""
    return _front(seen) if seen.view == "face-on" else _side(seen)


def _side(seen: AddressSeen) -> list[Drawn]:
    if not down_the_line.near_side_seen(seen):
        return []
    side = down_the_line.side_on(seen)
    along, across, up = seen.camera.axes

    def px(place: Floats) -> XY:
        return seen.camera.project(along * side.scale.distance_cm + across * place[0] + up * place[1])

    def seen_at(name: str) -> XY:
        mark = seen.points[name]
        return mark.x, mark.y

    shoulders, hips, wrists = side.middle("shoulder"), side.middle("hip"), side.middle("wrist")
    ankle, eye, elbow = side.points["trail_ankle"], side.points["trail_eye"], side.points["trail_elbow"]
    neck = (shoulders + side.middle("ear")) / 2
    ground = float(ankle[1]) - 8.0
    foot = np.array([shoulders[0], ground])
    plumb = Line(px(shoulders), px(foot), "plumb")
    level = np.array([shoulders[0], wrists[1]])
    out = [
        Drawn("hands_plumb_cm", (plumb, Line(px(level), px(wrists), "gap")), px(wrists)),
        Drawn(
            "spine_tilt_deg",
            (
                Line(px(hips), px(neck), "limb"),
                Line(px(hips), px(hips + np.array([0.0, float(np.linalg.norm(neck - hips))])), "plumb"),
            ),
            px((hips + neck) / 2),
        ),
        Drawn(
            "knee_flex_deg",
            tuple(
                Line(seen_at(f"trail_{a}"), seen_at(f"trail_{b}"), "limb")
                for a, b in (("hip", "knee"), ("knee", "ankle"))
            ),
            seen_at("trail_knee"),
        ),
        Drawn(
            "hips_back_cm",
            (
                Line(px(hips), px(np.array([hips[0], ankle[1]])), "plumb"),
                Line(px(np.array([hips[0], ankle[1]])), px(ankle), "gap"),
            ),
            px(np.array([hips[0], ankle[1]])),
        ),
    ]
    if seen.mark("trail_elbow") is not None and seen.mark("trail_wrist") is not None:
        arm = tuple(
            Line(seen_at(f"trail_{a}"), seen_at(f"trail_{b}"), "limb")
            for a, b in (("shoulder", "elbow"), ("elbow", "wrist"))
        )
        out.append(Drawn("elbow_deg", arm, px(elbow)))
    if side.ball is not None:
        below = np.array([eye[0], side.ball[1]])
        out.append(
            Drawn(
                "eye_line_cm", (Line(px(eye), px(below), "plumb"), Line(px(below), px(side.ball), "gap")), px(side.ball)
            )
        )
    return out


def _front(seen: AddressSeen) -> list[Drawn]:
    out = []
    for name, part in (("shoulder_level_deg", "shoulder"), ("eyes_level_deg", "ear")):
        pair = seen.mark(f"lead_{part}"), seen.mark(f"trail_{part}")
        if pair[0] is not None and pair[1] is not None:
            out.append(_level(seen, name, pair[0], pair[1]))
    found = face_on.scene(seen)
    if found is None:
        return out

    def px(along_cm: float, behind_cm: float, up_cm: float) -> XY:
        return seen.camera.project(found.ball + along_cm * found.along - behind_cm * found.across + up_cm * found.up)

    ankles = [seen.mark("trail_ankle"), seen.mark("lead_ankle")]
    if None not in ankles:
        places = [found.at(mark, found.behind_cm) for mark in ankles if mark is not None]
        lines = [Line(px(p[0], found.behind_cm, p[2]), px(p[0], 0.0, -BALL_RADIUS_CM), "plumb") for p in places]
        feet = [px(p[0], 0.0, -BALL_RADIUS_CM) for p in places]
        out.append(Drawn("ball_position", (*lines, Line(feet[0], feet[1], "gap")), feet[1]))
        out.append(Drawn("stance_cm", (), feet[0], before=True))
    for name, part, behind in (
        ("hands_ahead_cm", "wrist", face_on.HANDS_BEHIND_BALL_CM),
        ("head_ahead_cm", "ear", face_on.HEAD_BEHIND_BALL_CM),
    ):
        pair = seen.mark(f"lead_{part}"), seen.mark(f"trail_{part}")
        if pair[0] is None or pair[1] is None:
            continue
        place = found.at(middle(pair[0], pair[1]), behind)
        top = px(0.0, behind, place[2])
        lines = [Line(top, px(place[0], behind, place[2]), "gap")]
        if part == "ear":
            lines.append(Line(px(0.0, 0.0, 0.0), top, "plumb"))
        out.append(Drawn(name, tuple(lines), px(place[0], behind, place[2])))
    return out


def _level(seen: AddressSeen, name: str, lead: Mark, trail: Mark) -> Drawn:
    """The line of a pair of points beside a level one through its middle."""
    along, _, _ = seen.camera.axes
    x, y = (lead.x + trail.x) / 2, (lead.y + trail.y) / 2
    depth = 100.0
    centre = seen.camera.ray(x, y) * depth
    ends = [np.array(seen.camera.project(centre + step * along)) for step in (-1.0, 1.0)]
    run = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    half = 0.7 * float(np.hypot(lead.x - trail.x, lead.y - trail.y))
    level = Line((x - half * run[0], y - half * run[1]), (x + half * run[0], y + half * run[1]), "plumb")
    return Drawn(name, (level, Line((trail.x, trail.y), (lead.x, lead.y), "limb")), (lead.x, lead.y))
