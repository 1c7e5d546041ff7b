"""One stroke's picture with its lines on a pane: where it goes, and the drawing. Needs no display.

Everything but words is drawn by OpenCV into the pane's array; words come after, with the window's own canvas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Collection, Sequence

import numpy as np

from trainer.domain.record import Floats
from trainer.feedback.signs import OKABE_ITO, Colour, Theme
from trainer.replay.figure import CV_SHIFT, GROUND
from trainer.replay.frames import Still
from trainer.replay.lines import Area, Drawn, Label, Line, Ring, drawn_at
from trainer.replay.playback import Loaded
from trainer.replay.stroke_clip import StrokeClip
from trainer.ui.drawing.canvas import EDGE, Canvas, Surface
from trainer.ui.review.placement import Placement

LINE_OF_HEIGHT = 1 / 150  # a body line's width beside the pane's height
BAR = 5  # a label's stripe of its line's colour, px
SPOKEN_OF = 8  # half of what stays free about a place that a label speaks of, px
GAP = 12  # between a label and what it speaks of, px
SMALL_OF_HEIGHT = 0.046  # a label's words
MIN_SHARE = 0.6
LABEL_OF_HEIGHT = 0.080  # its number's line height beside the pane's height
AREA_SHARE = 0.45
PLATE: Colour = (12, 16, 14)
PLATE_ALPHA = 205
WHITE: Colour = (250, 250, 245)
# On and off in widths of the line.
PATTERNS = {"dashes": (4.5, 3.2), "dots": (0.0, 2.6)}
GHOST_SHARE = 0.30


def colour_of(name: str) -> Colour:
    return WHITE if name == "white" else OKABE_ITO[name]


def ground_of(stroke_clip: StrokeClip, theme: Theme) -> Colour:
    """Around the picture: a figure stands on its own ground."""
    b, g, r = GROUND
    return (r, g, b) if stroke_clip.frames.drawn else theme.panel


def pane_image(image: Any, placement: Placement, size: tuple[int, int], ground: Colour) -> Any:
    """A frame's picture as it lies on a pane of that size (width, height): (height, width, 3) BGR."""
    import cv2

    matrix = placement.matrix
    if placement.scale < 0.6:  # averaged first: a bare shrinking would let thin lines vanish
        image = cv2.resize(image, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        matrix = matrix.copy()
        matrix[:, :2] *= 2.0
        matrix[:, 2] += 0.25 * matrix[:, :2].sum(axis=1)  # middles of pixels, not corners
    return cv2.warpAffine(
        image, matrix, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=ground[::-1]
    )


def blended(image: Any, other: Any, share: float = GHOST_SHARE) -> Any:
    """The other picture as a grey ghost over this one."""
    import cv2

    grey = cv2.cvtColor(cv2.cvtColor(other, cv2.COLOR_BGR2GRAY), cv2.COLOR_GRAY2BGR)
    return cv2.addWeighted(image, 1.0 - share, grey, share, 0.0)


def draw_lines(image: Any, drawn: Drawn, placement: Placement) -> None:
    """The shapes, with a dark edge so that they are seen on any ground."""
    import cv2

    unit = max(2.0, image.shape[0] * LINE_OF_HEIGHT)
    for shape in drawn.shapes:
        if isinstance(shape, Area):
            _fill(image, placement.points(shape.points), colour_of(shape.colour))
        elif isinstance(shape, Line):
            _stroke(image, placement.points(shape.points), colour_of(shape.colour), unit * shape.width, shape.pattern)
        elif isinstance(shape, Ring):
            rim = _circle(placement.point(shape.at), shape.radius * placement.scale)
            _stroke(image, rim, colour_of(shape.colour), unit * shape.width, shape.pattern)
        else:
            at = _fixed(np.array([placement.point(shape.at)]))[0]
            radius = unit * 1.25 * shape.size
            for colour, r in ((EDGE, radius + 1.5), (colour_of(shape.colour), radius)):
                cv2.circle(image, at, round(r * 2**CV_SHIFT), colour[::-1], -1, cv2.LINE_AA, CV_SHIFT)


def draw_labels(
    canvas: Canvas, on: Surface, pane: Any, labels: Sequence[Label], placement: Placement, letters: float = 1.0
) -> list[Label]:
    """The words on dark plates, moved up or down where they would cover one another or what a label speaks of. Returns the labels
    it printed."""
    found = [placement.point(label.at) for label in labels]
    things = [(pane.left + x, pane.top + y) for x, y in found]
    taken = [canvas.pg.Rect(x - SPOKEN_OF, y - SPOKEN_OF, 2 * SPOKEN_OF, 2 * SPOKEN_OF) for x, y in things]
    for label, thing in zip(labels, things, strict=True):
        left = (label.side == "left") == (placement.along_sign > 0)
        edge = pane.left + placement.column(label.edge)
        edge = min(edge, thing[0] - GAP) if left else max(edge, thing[0] + GAP)
        room = (edge - pane.left) if left else (pane.right - edge)
        plate = _plate(canvas, label, room, letters * pane.height)
        box = plate.get_rect(centery=round(thing[1]))
        if left:
            box.right = round(edge)
        else:
            box.left = round(edge)
        box.clamp_ip(pane)
        _make_room(box, taken, pane)
        taken.append(box)
        end = (box.right if left else box.left, box.centery)
        canvas.pg.draw.aaline(on, colour_of(label.colour), end, thing)
        on.blit(plate, box)
        on.fill(
            colour_of(label.colour), canvas.pg.Rect(box.right - BAR if left else box.left, box.top, BAR, box.height)
        )
    return list(labels)


@dataclass(frozen=True)
class Ghost:
    """Another stroke laid over this one. image: as it lies on the pane, None for its lines alone."""

    image: Any
    drawn: Drawn
    placement: Placement


@dataclass(frozen=True)
class PaneScene:
    """What a pane shows. still: of the stroke's frames; lines: names of those to be drawn; letters: 1 at a desk."""

    stroke: Loaded
    still: Still
    placement: Placement
    lines: Collection[str]
    ghost: Ghost | None = None
    letters: float = 1.0


def draw_pane(canvas: Canvas, on: Surface, pane: Any, scene: PaneScene, theme: Theme) -> list[Label]:
    """The whole pane, a rectangle of the surface. Returns the labels."""
    stroke_clip, tracked, ghost = scene.stroke.stroke_clip, scene.stroke.tracked, scene.ghost
    image = pane_image(scene.still.image, scene.placement, pane.size, ground_of(stroke_clip, theme))
    if ghost is not None:
        image = image if ghost.image is None else blended(image, ghost.image)
        draw_lines(image, ghost.drawn, ghost.placement)
    drawn = drawn_at(tracked, tracked.sample(float(stroke_clip.frames.times_s[scene.still.index])), scene.lines)
    draw_lines(image, drawn, scene.placement)
    on.blit(canvas.pg.image.frombuffer(image.tobytes(), pane.size, "BGR"), pane)
    return draw_labels(canvas, on, pane, drawn.labels, scene.placement, scene.letters)


# ---- small parts


def _plate(canvas: Canvas, label: Label, room: float, height: float) -> Surface:
    """What the label says on a dark ground: its words small, below them the number; smaller where room is short."""
    share = 1.0
    while True:
        small, large = (
            max(14, round(SMALL_OF_HEIGHT * height * share)),
            max(14, round(LABEL_OF_HEIGHT * height * share)),
        )
        pad = max(3, large // 8)
        free = room - 2 * pad - BAR
        lines = [label.words]
        if share <= MIN_SHARE and free > 0:  # as small as it may be: over several lines
            lines = canvas.wrapped(label.words, small, free)
        wide = max(
            *(canvas.width(line, small) for line in lines), canvas.width(label.text, large) if label.text else 0.0
        )
        if wide <= free or share <= MIN_SHARE:
            break
        share -= 0.1
    tall = small * len(lines) + (large if label.text else 0) + pad
    plate = canvas.pg.Surface((round(wide) + 2 * pad + 2 * BAR, tall), canvas.pg.SRCALPHA)
    plate.fill((*PLATE, PLATE_ALPHA))
    for k, line in enumerate(lines):
        canvas.text(plate, line, (pad + BAR, pad // 2 + k * small), small, WHITE)
    if label.text:
        canvas.text(plate, label.text, (pad + BAR, pad // 2 + len(lines) * small), large, WHITE)
    return plate


def _make_room(plate: Any, taken: Sequence[Any], pane: Any) -> None:
    """Moves the plate to the nearest place above or below where it covers no other; leaves it where there is none."""
    home = plate.top
    for step in range(0, pane.height, max(4, plate.height // 4)):
        for top in (home - step, home + step):
            plate.top = top
            inside = pane.top <= plate.top and plate.bottom <= pane.bottom
            if inside and plate.collidelist(list(taken)) < 0:
                return
    plate.top = home


def _fixed(points: Floats) -> Any:
    return np.round(np.asarray(points, dtype=float) * 2**CV_SHIFT).astype(np.int32)


def _circle(centre: tuple[float, float], radius: float) -> Floats:
    a = np.linspace(0.0, 2 * math.pi, 73)
    return np.stack([centre[0] + radius * np.cos(a), centre[1] + radius * np.sin(a)], axis=1)


def _fill(image: Any, points: Floats, colour: Colour) -> None:
    import cv2

    low = np.maximum(np.floor(points.min(axis=0)).astype(int) - 1, 0)
    high = np.minimum(np.ceil(points.max(axis=0)).astype(int) + 2, image.shape[1::-1])
    if (high <= low).any():
        return
    part = image[low[1] : high[1], low[0] : high[0]]
    over = part.copy()
    cv2.fillPoly(over, [_fixed(points - low)], colour[::-1], cv2.LINE_AA, CV_SHIFT)
    cv2.addWeighted(over, AREA_SHARE, part, 1.0 - AREA_SHARE, 0.0, part)


def _stroke(image: Any, points: Floats, colour: Colour, width: float, pattern: str) -> None:
    import cv2

    pieces = [points] if pattern == "solid" else _pieces(points, width, *PATTERNS[pattern])
    edge = 2 * max(1.0, 0.3 * width)
    for ink, wide in ((EDGE, width + edge), (colour, width)):
        thick = max(1, round(wide))
        if pattern == "dots":
            for piece in pieces:
                cv2.circle(
                    image, _fixed(piece[:1])[0], round(wide * 0.62 * 2**CV_SHIFT), ink[::-1], -1, cv2.LINE_AA, CV_SHIFT
                )
        else:
            cv2.polylines(image, [_fixed(p) for p in pieces], False, ink[::-1], thick, cv2.LINE_AA, CV_SHIFT)


def _pieces(points: Floats, width: float, on: float, off: float) -> list[Floats]:
    """A line cut into dashes of ``on`` widths with gaps of ``off``, measured along it; with on = 0 into dots."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    at = np.concatenate([[0.0], np.cumsum(steps)])
    keep = np.concatenate([[True], steps > 1e-6])
    points, at = points[keep], at[keep]
    if at[-1] < 1e-6:
        return [points[:1]]
    period = max(2.0, (on + off) * width)
    starts = np.arange(0.0, at[-1], period)
    out = []
    for start in starts:
        stop = min(start + on * width, float(at[-1]))
        inner = at[(at > start) & (at < stop)]
        where = np.concatenate([[start], inner, [stop]]) if on else np.array([start])
        out.append(np.stack([np.interp(where, at, points[:, i]) for i in (0, 1)], axis=1))
    return out
