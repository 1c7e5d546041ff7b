"""The cards' figures: a player of a few lines, posed by numbers. Pure geometry, drawn by page and window alike.

A panel is 1 wide and 1 high, along to the right (the target is there, as a camera before a right-hander sees it), up upward,
the ground at 0.08.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

XY = tuple[float, float]
Ink = Literal["body", "putter", "ghost", "ground", "mark"]

GROUND = 0.08
NECK = 0.70
HIPS = 0.44
ARMS, SHAFT = 0.26, 0.36  # neck to grip, grip to putter head
HEAD = 0.062


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points; arrow: with a head at its end; dashed."""

    points: tuple[XY, ...]
    ink: Ink = "body"
    arrow: bool = False
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle; filled or in outline."""

    at: XY
    radius: float
    ink: Ink = "body"
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Panel:
    """One picture of a figure. good: how it should be (True), what goes wrong (False), None: neither; words: what it shows."""

    caption: str
    paths: tuple[Path, ...]
    rings: tuple[Ring, ...] = ()
    good: bool | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Pose:
    """Face-on. arm_deg: the pendulum's angle, + toward the target; wrist_deg: the shaft past the arms; gaze: where the head
    is turned to, drawn as an arrow, "": not drawn; head_along, head_up: of the head from its place; ink: of the body.
    """

    arm_deg: float = 0.0
    wrist_deg: float = 0.0
    gaze: Literal["", "ball", "hole"] = ""
    head_along: float = 0.0
    head_up: float = 0.0
    ink: Ink = "body"


FINISH = Pose(arm_deg=24)  # the arms through, as cards draw the finish


@dataclass(frozen=True, slots=True)
class Lines:
    """Of a pose."""

    paths: tuple[Path, ...] = ()
    rings: tuple[Ring, ...] = ()


def pose(p: Pose) -> Lines:
    """The player face-on, bowed over the ball."""
    neck = (0.5, NECK)
    grip = _swung(neck, p.arm_deg, ARMS)
    putter = _swung(grip, p.arm_deg + p.wrist_deg, SHAFT)
    head = (0.5 + p.head_along, NECK + 0.045 + p.head_up)
    rock = math.radians(0.5 * p.arm_deg)
    lead = (0.5 + 0.10 * math.cos(rock), NECK - 0.02 + 0.10 * math.sin(rock))
    trail = (0.5 - 0.10 * math.cos(rock), NECK - 0.02 - 0.10 * math.sin(rock))
    body = [
        (trail, lead),
        ((0.5, NECK), (0.5, HIPS)),
        ((0.44, HIPS), (0.56, HIPS)),
        ((0.44, HIPS), (0.40, GROUND)),
        ((0.56, HIPS), (0.60, GROUND)),
        (lead, grip),
        (trail, grip),
    ]
    paths = [Path(ends, p.ink) for ends in body]
    paths.append(Path((grip, putter), "ghost" if p.ink == "ghost" else "putter"))
    if p.gaze:
        ends = ((head[0], GROUND + 0.03), (head[0] + 0.24, head[1] - 0.03))[p.gaze == "hole"]
        paths.append(Path((head, ends), "mark", arrow=True, dashed=True))
    return Lines(tuple(paths), (Ring(head, HEAD, p.ink),))


def _swung(about: XY, deg: float, length: float) -> XY:
    angle = math.radians(deg)
    return about[0] + length * math.sin(angle), about[1] - length * math.cos(angle)


def ground() -> Path:
    return Path(((0.06, GROUND), (0.94, GROUND)), "ground")


def ball(along: float = 0.5) -> Ring:
    return Ring((along, GROUND + 0.015), 0.015, "mark", True)


def arc(centre: XY, radius: float, start_deg: float, end_deg: float) -> Path:
    """An arrow along a circle; angles as the pendulum's."""
    steps = 12
    points = tuple(_swung(centre, start_deg + (end_deg - start_deg) * i / steps, radius) for i in range(steps + 1))
    return Path(points, "mark", arrow=True)


def arrow(start: XY, end: XY) -> Path:
    return Path((start, end), "mark", arrow=True)


def upright(along: float, low: float = GROUND, high: float = 0.5) -> Path:
    """A dashed line to compare with."""
    return Path(((along, low), (along, high)), "mark", dashed=True)


def face_on(
    caption: str,
    words: str,
    shown: Pose,
    before: Pose | None = None,
    good: bool | None = None,
    more: tuple[Path, ...] = (),
    along: float | None = 0.5,
) -> Panel:
    """before: drawn faintly behind; more: arrows and lines; along: where the ball lies, None: it has gone."""
    behind = pose(before) if before is not None else Lines()
    front = pose(shown)
    rings = (*behind.rings, *front.rings, *((ball(along),) if along is not None else ()))
    return Panel(caption, (ground(), *behind.paths, *front.paths, *more), rings, good, words)


def side_on(
    caption: str, words: str, tilt_deg: float, before_deg: float | None = None, good: bool | None = None
) -> Panel:
    """Down the line: the back's tilt from upright, before_deg: as it was at address, faintly."""
    paths, rings = [ground()], []
    for tilt, ink in ((before_deg, "ghost"), (tilt_deg, "body")):
        if tilt is None:
            continue
        body, circles = _side(tilt, "ghost" if ink == "ghost" else "body")
        paths += body
        rings += circles
    return Panel(caption, tuple(paths), (*rings, ball(0.74)), good, words)


def _side(tilt_deg: float, ink: Ink) -> tuple[list[Path], list[Ring]]:
    hips, knee, foot = (0.36, HIPS), (0.42, 0.26), (0.38, GROUND)
    lean = math.radians(tilt_deg)
    neck = (hips[0] + 0.30 * math.sin(lean), hips[1] + 0.30 * math.cos(lean))
    head = (neck[0] + 0.08 * math.sin(lean + 0.5), neck[1] + 0.08 * math.cos(lean + 0.5))
    grip = (neck[0] + 0.01, neck[1] - ARMS)
    lines = [(hips, knee), (knee, foot), (hips, neck), (neck, grip)]
    out = [Path(ends, ink) for ends in lines]
    out.append(Path((grip, (0.72, GROUND)), "ghost" if ink == "ghost" else "putter"))
    return out, [Ring(head, HEAD, ink)]


def row(caption: str, words: str, filled: str) -> Panel:
    """Strokes in a row, one a letter: "o" with feedback (filled), "." in silence (a ring)."""
    paths: tuple[Path, ...] = ()
    rings = []
    columns = 5
    lines = -(-len(filled) // columns)
    for i, letter in enumerate(filled):
        at = (0.14 + 0.18 * (i % columns), 0.5 + 0.09 * (lines - 1) - 0.18 * (i // columns))
        rings.append(Ring(at, 0.055, "mark" if letter == "o" else "body", letter == "o"))
    return Panel(caption, paths, tuple(rings), None, words)
