"""When no number should be given: what is wrong with the picture or the player, a hint each."""

from __future__ import annotations

import math
from typing import Any, Mapping, Sequence

import numpy as np

from trainer.coaching.posture.address import MIN_SEEN
from trainer.coaching.posture.hint import Hint
from trainer.domain.picture_edge import Edge, edge_passed, thing_words, what_helps
from trainer.domain.player_frame import Grip, PlayerFrame
from trainer.texts import join, tr

PARTS = {
    "feet": ("left_ankle", "right_ankle", "left_toe", "right_toe"),
    "head": ("nose", "left_ear", "right_ear"),
    "hands": ("left_wrist", "right_wrist"),
    "hips": ("left_hip", "right_hip"),
}
NEAR_SIDE = {"feet", "hands", "hips", "head"}  # side-on the far one of each pair is hidden by nature
HANDS_APART_LEGS = 0.45  # hands on one grip are nearer to each other than this (legs: hip-knee-ankle in the picture)
BENT_DOWN = 0.80  # hands this far down from the hips toward the ankles are on their way to the ball, not on a grip
SMALL_SHARE = 0.20  # legs shorter than this share of the picture's height: the player is too far away


def player_hints(points: Mapping[str, Any] | None, size: tuple[int, int], grip: Grip = "trail hand low") -> list[Hint]:
    """Why there can be no measure at all; empty when the player stands at address, whole in the picture.

    points: the pose model's names -> x px, y px, visibility; size: width, height px.
    """
    if not points:
        return [Hint(tr("nobody seen"), tr("stand in the picture, whole body in view"))]
    cut = [part for part, names in PARTS.items() if _cut_off(points, names, size)]
    if cut:
        edges = {edge for part in cut if (edge := _edge(points, PARTS[part], size)) is not None}
        way = what_helps(edges.pop()) if len(edges) == 1 else tr("move the camera back, or aim it again")
        return [Hint(tr("{listed} out of view", listed=join(tr(" and "), map(thing_words, cut))), way)]
    leg = _leg_px(points)
    if leg is None:
        return [Hint(tr("legs not seen"), tr("whole body in view, nothing before it"))]
    if leg < SMALL_SHARE * size[1]:
        return [Hint(tr("player too far away"), tr("bring the camera nearer, 2.5 to 3 m"))]
    if _bending(points):
        return [Hint(tr("bending down"), tr("take your stance first"))]
    wrists = [points[n] for n in PARTS["hands"] if points[n][2] >= MIN_SEEN]
    both = len(PlayerFrame(grip=grip).holding) == 2
    if both and len(wrists) == 2 and math.dist(wrists[0][:2], wrists[1][:2]) > HANDS_APART_LEGS * leg:
        return [Hint(tr("both hands on the putter"), tr("take your stance first"))]
    return []


def ball_hint(ball_seen: bool) -> list[Hint]:
    """What to say when there is no ball."""
    return (
        []
        if ball_seen
        else [Hint(tr("no ball seen"), tr("lay one down, not behind a shoe or the putter as the camera sees it"))]
    )


def people_hint(count: int) -> list[Hint]:
    """What to say when more than one person fills the picture."""
    return [] if count <= 1 else [Hint(tr("two people in the picture"), tr("only the player should be in it"))]


def _edge(points: Mapping[str, Any], names: Sequence[str], size: tuple[int, int]) -> Edge | None:
    """The edge that one of them has passed; None: all are inside."""
    passed = (edge_passed(points[n][0], points[n][1], size) for n in names if n in points)
    return next((edge for edge in passed if edge is not None), None)


def _cut_off(points: Mapping[str, Any], names: Sequence[str], size: tuple[int, int]) -> bool:
    hidden = all(n not in points or points[n][2] < MIN_SEEN for n in names)
    return hidden or _edge(points, names, size) is not None


def _leg_px(points: Mapping[str, Any]) -> float | None:
    lengths = []
    for side in ("left", "right"):
        joints = [points.get(f"{side}_{part}") for part in ("hip", "knee", "ankle")]
        if all(j is not None and j[2] >= MIN_SEEN for j in joints):
            hip, knee, ankle = (np.asarray(j[:2], dtype=np.float64) for j in joints if j is not None)
            lengths.append(float(np.linalg.norm(hip - knee) + np.linalg.norm(knee - ankle)))
    return float(np.mean(lengths)) if lengths else None


def _bending(points: Mapping[str, Any]) -> bool:
    def level(part: str) -> float:
        return float(np.mean([points[f"{s}_{part}"][1] for s in ("left", "right")]))

    hips, ankles, shoulders = level("hip"), level("ankle"), level("shoulder")
    lowest_hand = max(float(points[n][1]) for n in PARTS["hands"])
    down = (lowest_hand - hips) / max(ankles - hips, 1e-6)
    # Shoulders as low as the hips: the trunk is level, which no address is.
    return down > BENT_DOWN or shoulders > hips - 0.12 * (ankles - hips)
