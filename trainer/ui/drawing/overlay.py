"""Drawn over the picture: the body points in use, the shaft, the ball, where the head is."""

from __future__ import annotations

import math
from typing import Mapping

from trainer.domain.observation import Observation
from trainer.domain.player_frame import Point
from trainer.feedback.signs import OKABE_ITO, Colour
from trainer.replay.lines import HEAD_OF_SHOULDERS
from trainer.ui.drawing.canvas import Canvas, Place, Surface

# The points that the measures use, joined as the body is.
LIMBS = (
    ("lead_shoulder", "trail_shoulder"),
    ("lead_shoulder", "lead_elbow"),
    ("lead_elbow", "lead_wrist"),
    ("trail_shoulder", "trail_elbow"),
    ("trail_elbow", "trail_wrist"),
    ("lead_hip", "trail_hip"),
    ("lead_hip", "lead_knee"),
    ("lead_knee", "lead_ankle"),
    ("trail_hip", "trail_knee"),
    ("trail_knee", "trail_ankle"),
)
BODY: Colour = (250, 250, 245)
LEAD_ARM: Colour = OKABE_ITO["sky blue"]
SHAFT: Colour = OKABE_ITO["orange"]
BALL: Colour = OKABE_ITO["yellow"]
HEAD: Colour = OKABE_ITO["reddish purple"]
CONFIDENT = 0.5


def draw(
    canvas: Canvas,
    on: Surface,
    observation: Observation,
    origin: Place,
    scale: float,
) -> None:
    """origin: where the picture's corner is on the surface; scale: surface px per picture px."""

    def place(point: Point) -> Place:
        x, y = observation.frame.to_picture(point)
        return origin[0] + x * scale, origin[1] + y * scale

    seen = observation.frame.seen
    thin = max(1.5, 2.0 * scale)
    body = {name: place(p) for name, p in (observation.body or {}).items() if seen(p)}
    for a, b in LIMBS:
        if a in body and b in body:
            lead = (a, b) == ("lead_elbow", "lead_wrist")
            canvas.line(on, body[a], body[b], LEAD_ARM if lead else BODY, thin * (1.7 if lead else 1.0))
    for name in dict.fromkeys(name for limb in LIMBS for name in limb):
        if name in body:
            canvas.dot(on, body[name], thin * 1.4, BODY)
    if observation.head is not None and seen(observation.head.centre):
        canvas.ring(on, place(observation.head.centre), _head_radius(body, scale), HEAD, max(2, round(thin)))
    if observation.ball is not None and seen(observation.ball.centre):
        radius = max(4.0, observation.ball.diameter_px * scale * 0.5 + thin)
        canvas.ring(on, place(observation.ball.centre), radius, BALL, max(2, round(thin * 0.8)))
    putter = observation.putter
    if putter is not None and seen(putter.grip) and seen(putter.head):
        grip, head = place(putter.grip), place(putter.head)
        canvas.line(on, grip, head, SHAFT, thin * (1.7 if putter.confidence >= CONFIDENT else 0.9))
        canvas.dot(on, head, thin * 2.2, SHAFT)


def _head_radius(body: Mapping[str, Place], scale: float) -> float:
    if "lead_shoulder" in body and "trail_shoulder" in body:
        return max(8.0, HEAD_OF_SHOULDERS * math.dist(body["lead_shoulder"], body["trail_shoulder"]))
    return 30.0 * scale
