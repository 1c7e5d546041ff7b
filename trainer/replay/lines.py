"""The few lines that matter, as geometry in the player's frame (px): drawn from what was tracked, none by hand.

Each part of the drawing can be switched. Told apart by place, pattern and label, not by colour alone; every label says the
number that the record's own functions give at that instant.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Collection, Literal, Sequence, get_args

import numpy as np

from trainer.domain.record import Floats
from trainer.replay.derived_signals import DerivedSignals, Place, Reading, event_words
from trainer.texts import tr

LineName = Literal["arm", "leg", "outline", "paths", "head", "spine"]
LINE_NAMES: tuple[LineName, ...] = get_args(LineName)
# What each is called on the screen and on the command line's help.
LINE_WORDS: dict[LineName, str] = {
    "arm": tr("arm and shaft"),
    "leg": tr("hands past leg"),
    "outline": tr("arms at the ends"),
    "paths": tr("paths"),
    "head": tr("head"),
    "spine": tr("spine"),
}
USUAL: tuple[LineName, ...] = ("arm", "leg", "paths", "head")
Pattern = Literal["solid", "dashes", "dots"]
Anchor = Literal["left", "right"]
BACK_FORWARD: tuple[Pattern, Pattern] = ("dots", "solid")  # of ways
HEAD_OF_SHOULDERS = 0.30  # head ring's radius beside the shoulders' width, here and on the live picture; drawing only
FIGURE = (
    ("lead_shoulder", "trail_shoulder"), ("lead_shoulder", "lead_elbow"), ("lead_elbow", "lead_wrist"),
    ("trail_shoulder", "hands"), ("lead_shoulder", "lead_hip"), ("trail_shoulder", "trail_hip"), ("lead_hip", "trail_hip"),
    ("lead_hip", "lead_knee"), ("lead_knee", "lead_ankle"), ("trail_hip", "trail_knee"), ("trail_knee", "trail_ankle"),
    ("grip", "putter"),
)  # fmt: skip
WEDGE_LEAST_DEG = 1.0  # a smaller change is not drawn as a wedge: it would be the frame's noise


@dataclass(frozen=True)
class Line:
    """points: (n, 2) along (down the line: across), up; colour: name in OKABE_ITO or "white"; width: 1 is a body line's."""

    points: Floats
    colour: str
    width: float = 1.0
    pattern: Pattern = "solid"


@dataclass(frozen=True)
class Area:
    """A filled stretch that lets the picture through."""

    points: Floats
    colour: str


@dataclass(frozen=True)
class Ring:
    """radius in px of the picture."""

    at: Place
    radius: float
    colour: str
    width: float = 1.0
    pattern: Pattern = "solid"


@dataclass(frozen=True)
class Dot:
    at: Place
    colour: str
    size: float = 1.0


@dataclass(frozen=True)
class Label:
    """One printed thing. words: what it is, small; text: the number; at: what it speaks of.

    side: on which side of the player it is to stand, as the picture shows it for along to the right; edge: how far out
    along or across, px.
    """

    name: str
    words: str
    text: str
    at: Place
    colour: str
    side: Anchor
    edge: float
    value: float | None = None


Shape = Line | Area | Ring | Dot


@dataclass
class Drawn:
    """What is to be drawn for one instant, in order."""

    shapes: list[Shape] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    edges: tuple[float, float] = (0.0, 0.0)  # of the player to either side, where labels may begin

    def line(self, points: Sequence[Place | None], colour: str, width: float = 1.0, pattern: Pattern = "solid") -> None:
        seen = [p for p in points if p is not None]
        if len(seen) == len(points) and len(seen) > 1:
            self.shapes.append(Line(np.array(seen, dtype=float), colour, width, pattern))

    def label(self, reading: Reading, words: str, at: Place, colour: str, side: Anchor) -> None:
        edge = self.edges[side == "right"]
        self.labels.append(Label(reading.name, words, reading.text, at, colour, side, edge, reading.value))


def drawn_at(tracked: DerivedSignals, sample: int, show: Collection[str]) -> Drawn:
    """The lines named in ``show`` (LINE_NAMES, or "figure") at that sample of the record."""
    out = Drawn(edges=_edges(tracked))
    for name, draw in _PARTS.items():
        if name in show:
            draw(tracked, sample, out)
    return out


def _span(tracked: DerivedSignals) -> float:
    """A length that goes with the player's size in the picture, px: the shoulders' width, or half the trunk."""
    lead, trail = (tracked.place_at_address(f"{side}_shoulder") for side in ("lead", "trail"))
    if tracked.face_on and lead is not None and trail is not None:
        return max(20.0, math.dist(lead, trail))
    hips, shoulders = tracked.middle("hip", None), tracked.middle("shoulder", None)
    return max(20.0, 0.5 * math.dist(hips, shoulders)) if hips and shoulders else 60.0


def _edges(tracked: DerivedSignals) -> tuple[float, float]:
    """Beside the player at address, arms and hips included: low and high along, or across down the line."""
    points = [
        p
        for name in ("lead_shoulder", "trail_shoulder", "lead_elbow", "lead_hip", "trail_hip", "hands")
        if (p := tracked.place_at_address(name)) is not None
    ]
    aside = [p[0] for p in points] or [0.0]
    room = (0.35 if tracked.face_on else 0.25) * _span(tracked)
    return min(aside) - room, max(aside) + room


# ---- the parts


def _arm(tracked: DerivedSignals, k: int, out: Drawn) -> None:
    """Lead arm and shaft. The wedge between the shaft and where it would be at the address angle is the change."""
    arm, grip, head = tracked.arm(k), tracked.place("grip", k), tracked.place("putter", k)
    if arm is not None:
        out.line(arm, "sky blue", 1.6)
    change = tracked.reading("hinge_change_deg", k)
    if arm is None or grip is None or head is None:
        out.line((grip, head), "orange", 1.6)
        return
    length = math.dist(grip, head)
    then = _turned(_direction(grip, head), -(change.value or 0.0))
    if change.value is not None and abs(change.value) >= WEDGE_LEAST_DEG:
        steps = np.linspace(0.0, -change.value, max(2, int(abs(change.value) // 2) + 2))
        rim = [_from(grip, _turned(_direction(grip, head), float(d)), 0.86 * length) for d in steps]
        out.shapes.append(Area(np.array([grip, *rim]), "yellow"))
        out.line((grip, _from(grip, then, length)), "white", 0.8, "dashes")
    out.line((arm[1], grip), "sky blue", 1.0)
    out.line((grip, head), "orange", 1.6)
    out.shapes.append(Dot(arm[1], "sky blue", 1.5))
    if change.value is not None and math.isfinite(tracked.hinge_deg[k]):
        between = 180.0 - abs(float(tracked.hinge_deg[k]))
        at = _from(grip, _direction(grip, head), 0.3 * length)
        out.label(change, tr("wrist angle {between:.0f}°", between=between), at, "sky blue", "left")


def _leg(tracked: DerivedSignals, k: int, out: Drawn) -> None:
    """A plumb line up from the lead ankle, and from it to the hands."""
    along, ankle, hands = tracked.ankle_along_px(), tracked.place_at_address("lead_ankle"), tracked.place("hands", k)
    if not tracked.face_on or along is None or ankle is None:
        return
    shoulder = tracked.place_at_address("lead_shoulder")
    top = shoulder[1] if shoulder is not None else ankle[1] + 4.0 * _span(tracked)
    out.line(((along, ankle[1]), (along, top)), "yellow", 1.0, "dashes")
    out.shapes.append(Dot((along, ankle[1]), "yellow", 1.3))
    if hands is None:
        return
    out.line(((along, hands[1]), hands), "yellow", 1.4)
    out.shapes.append(Dot(hands, "yellow", 1.5))
    past = tracked.past_leg(k)
    if past.value is not None:
        out.label(past, past.label, (along, hands[1]), "yellow", "right")


def _outline(tracked: DerivedSignals, _: int, out: Drawn) -> None:
    """Shoulders, lead arm and hands at the two ends of the stroke: top in dashes, finish solid."""
    ends: tuple[tuple[str, Pattern, Anchor], ...] = (("top", "dashes", "left"), ("finish", "solid", "right"))
    for word, pattern, end in ends:
        when = tracked.event_s(word)
        if when is None:
            continue
        i = tracked.sample(when)
        points = [
            tracked.place(p, i) for p in ("trail_shoulder", "lead_shoulder", "lead_elbow", "hands", "trail_shoulder")
        ]
        hands = points[3]
        if hands is not None and all(p is not None for p in points):
            out.line(points, "white", 1.1, pattern)
            out.labels.append(Label(word, event_words(word), "", hands, "white", end, out.edges[end == "right"]))


def _paths(tracked: DerivedSignals, k: int, out: Drawn) -> None:
    """Ways of hands and putter head: back in dots, forward solid, as far as they have come; a dot where they are now."""
    take, end = tracked.event_s("takeaway"), tracked.event_s("settle") or tracked.event_s("finish")
    top = tracked.event_s("top")
    if take is None or top is None:
        return
    first, turn = tracked.sample(take), tracked.sample(top)
    last = tracked.sample(end) if end is not None else len(tracked.time_s) - 1
    for point, colour in (("hands", "bluish green"), ("putter", "orange")):
        track = tracked.track(point)
        parts = track[first : min(k, turn) + 1], track[turn : min(k, last) + 1]
        for part, pattern in zip(parts, BACK_FORWARD, strict=True):
            seen = part[np.isfinite(part).all(axis=1)]
            if len(seen) > 1:
                out.shapes.append(Line(seen, colour, 0.9, pattern))
        now = tracked.place(point, k)
        if now is not None:
            out.shapes.append(Dot(now, colour, 1.6))


def _head(tracked: DerivedSignals, k: int, out: Drawn) -> None:
    """A ring where the head is with a pointer that swings toward the target as it turns; in dashes where it was."""
    at, was = tracked.place("head", k), tracked.place_at_address("head")
    if not tracked.face_on or at is None:
        return
    radius = HEAD_OF_SHOULDERS * _span(tracked)
    if was is not None:
        out.shapes.append(Ring(was, radius, "white", 0.7, "dashes"))
        out.line((_pointer(was, radius, 0.0, 1.0), _pointer(was, radius, 0.0, 1.45)), "white", 0.8)
    out.shapes.append(Ring(at, radius, "reddish purple", 1.2))
    turn = tracked.reading("head_turn_deg", k)
    if turn.value is not None:
        out.line((_pointer(at, radius, turn.value, 0.9), _pointer(at, radius, turn.value, 1.6)), "reddish purple", 2.0)
        out.label(turn, turn.label, at, "reddish purple", "left")


def _spine(tracked: DerivedSignals, k: int, out: Drawn) -> None:
    """From the middle of the hips to the middle of the shoulders; in dashes as it was at address."""
    out.line((tracked.middle("hip", None), tracked.middle("shoulder", None)), "white", 0.9, "dashes")
    now = tracked.middle("hip", k), tracked.middle("shoulder", k)
    out.line(now, "blue", 1.6)
    change = tracked.reading("spine_change_deg", k)
    if now[0] is not None and now[1] is not None and change.value is not None:
        at = ((now[0][0] + now[1][0]) / 2, (now[0][1] + now[1][1]) / 2)
        out.label(change, tr("spine straighter") if change.value >= 0 else tr("spine bent more"), at, "blue", "left")


def _figure(tracked: DerivedSignals, k: int, out: Drawn) -> None:
    """The whole player in thin dashes: another stroke laid over this one."""
    for a, b in FIGURE:
        out.line((tracked.place(a, k), tracked.place(b, k)), "white", 0.8, "dashes")
    head = tracked.place("head", k)
    if head is not None:
        out.shapes.append(Ring(head, HEAD_OF_SHOULDERS * _span(tracked), "white", 0.8, "dashes"))


_PARTS = {
    "figure": _figure,
    "spine": _spine,
    "outline": _outline,
    "leg": _leg,
    "paths": _paths,
    "arm": _arm,
    "head": _head,
}


# ---- small geometry; directions are unit vectors (along, up)


def _direction(a: Place, b: Place) -> Place:
    far = math.dist(a, b) or 1.0
    return (b[0] - a[0]) / far, (b[1] - a[1]) / far


def _from(a: Place, direction: Place, length: float) -> Place:
    return a[0] + direction[0] * length, a[1] + direction[1] * length


def _turned(direction: Place, deg: float) -> Place:
    """Counter-clockwise with along to the right and up upward."""
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return c * direction[0] - s * direction[1], s * direction[0] + c * direction[1]


def _pointer(centre: Place, radius: float, turn_deg: float, share: float) -> Place:
    """On a ray from the middle of the ring that hangs straight down at rest, toward the target by the turn."""
    a = math.radians(turn_deg)
    return centre[0] + share * radius * math.sin(a), centre[1] - share * radius * math.cos(a)
