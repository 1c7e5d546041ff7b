"""Where a stroke's picture lies on a pane: whole, or close up on the player; two strokes at one scale on one ground line."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from trainer.domain.player_frame import PlayerFrame
from trainer.domain.record import Floats
from trainer.replay.derived_signals import DerivedSignals, Place
from trainer.replay.figure import picture_frame
from trainer.replay.playback import Playback
from trainer.replay.stroke_clip import StrokeClip

POINTS = (
    "head", "lead_shoulder", "trail_shoulder", "hands", "putter", "lead_ankle", "trail_ankle", "lead_hip", "trail_hip",
)  # fmt: skip
MARGIN = 0.16  # of the larger side of the player's box, left free around him
HEAD_ROOM = 0.05  # more above: the head's ring
FEET_DEEP = 0.06  # shoes below the ankles, beside the box's height


@dataclass(frozen=True)
class Placement:
    """pane px = scale * picture px + (x, y); mirrored: the picture's x runs to the left.

    frame: the player's in that picture.
    """

    scale: float
    x: float
    y: float
    mirrored: bool
    frame: PlayerFrame
    offset: tuple[float, float]

    @property
    def matrix(self) -> Floats:
        """2 x 3, picture px -> pane px, middles of pixels on middles of pixels."""
        s = -self.scale if self.mirrored else self.scale
        return np.array([[s, 0.0, self.x], [0.0, self.scale, self.y]])

    @property
    def along_sign(self) -> int:
        """+1 where the target lies to the right on the pane."""
        return -1 if self.frame.mirrored != self.mirrored else 1

    def points(self, places: Floats) -> Floats:
        """(n, 2) along or across, and up -> (n, 2) on the pane."""
        p = np.asarray(places, dtype=float)
        picture = np.stack([self.frame.sideways(p[:, 0]), -p[:, 1]], axis=1)
        picture = picture + np.array(self.offset)
        m = self.matrix
        return np.asarray(picture @ m[:, :2].T + m[:, 2])

    def column(self, edge: float) -> float:
        """x on the pane of a place along the line or across it."""
        return self.point((edge, 0.0))[0]

    def point(self, place: Place) -> tuple[float, float]:
        x, y = self.points(np.array([place]))[0]
        return float(x), float(y)


def _bare(stroke_clip: StrokeClip, mirrored: bool) -> Placement:
    frames = stroke_clip.frames
    width = 0.0 if frames.drawn else float(frames.size[0])
    return Placement(
        1.0,
        0.0,
        0.0,
        mirrored,
        picture_frame(stroke_clip.record.signals, stroke_clip.handedness, width),
        frames.offset_px,
    )


def fit(
    stroke_clip: StrokeClip, tracked: DerivedSignals, size: tuple[int, int], close: bool, mirrored: bool = False
) -> Placement:
    """On a pane of that size (width, height): the whole picture, or (close) as near as keeps the player in it."""
    bare = _bare(stroke_clip, mirrored)
    wide, high = stroke_clip.frames.size
    left = -float(wide) if mirrored else 0.0
    box = (left, 0.0, left + wide, float(high))
    if close:
        box = _player_box(bare, tracked, box)
    scale = min(size[0] / (box[2] - box[0]), size[1] / (box[3] - box[1]))
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    if close:  # what the pane has to spare shows more of the picture, not its edge
        x = _slid(x, size[0] / scale, left, left + wide)
        y = _slid(y, size[1] / scale, 0.0, float(high))
    return replace(bare, scale=scale, x=size[0] / 2 - scale * x, y=size[1] / 2 - scale * y)


def _slid(middle: float, seen: float, low: float, high: float) -> float:
    if seen >= high - low:
        return (low + high) / 2
    return min(max(middle, low + seen / 2), high - seen / 2)


def _during(tracked: DerivedSignals) -> Floats:
    """(n, 2): every place of the player and putter from just before the takeaway to the settle."""
    settle = tracked.event_s("settle") or tracked.event_s("finish") or float(tracked.time_s[-1])
    during = (tracked.time_s >= tracked.take_s - 0.5) & (tracked.time_s <= settle)
    seen = np.concatenate([tracked.track(name)[during] for name in POINTS])
    return np.asarray(seen[np.isfinite(seen).all(axis=1)])


def _player_box(
    bare: Placement, tracked: DerivedSignals, whole: tuple[float, float, float, float]
) -> tuple[float, float, float, float]:
    """left, top, right, bottom of the player during the stroke, with room about him, inside the picture."""
    seen = _during(tracked)
    if len(seen) < 4:
        return whole
    on_pane = bare.points(seen)
    low, high = on_pane.min(axis=0), on_pane.max(axis=0)
    room = MARGIN * float((high - low).max())
    tall = float(high[1] - low[1])
    found = (low[0] - room, low[1] - room - HEAD_ROOM * tall, high[0] + room, high[1] + room / 2 + FEET_DEEP * tall)
    return (
        max(found[0], whole[0]), max(found[1], whole[1]), min(found[2], whole[2]), min(found[3], whole[3]),
    )  # fmt: skip


def matched(
    stroke_clip: StrokeClip, tracked: DerivedSignals, mirrored: bool, to: Placement, to_tracked: DerivedSignals
) -> Placement:
    """The other stroke at the same scale, its feet where those of the first are: one ground line.

    Scale by centimetres where both have a size reference, else by the ankles' distance, else by the player's height in px.
    """
    bare = _bare(stroke_clip, mirrored)
    scale = to.scale * _size_ratio(tracked, to_tracked)
    bare = replace(bare, scale=scale)
    here, there = _feet(bare, tracked), _feet(to, to_tracked)
    if here is None or there is None:
        return replace(bare, x=to.x, y=to.y)
    return replace(bare, x=there[0] - here[0], y=there[1] - here[1])


def both_inside(
    first: Placement,
    first_tracked: DerivedSignals,
    second: Placement,
    second_tracked: DerivedSignals,
    size: tuple[int, int],
) -> tuple[Placement, Placement]:
    """The two placements drawn back together, no more than need be, until both players are wholly on their panes."""
    boxes = [
        box
        for placement, tracked in ((first, first_tracked), (second, second_tracked))
        if (box := _box_on_pane(placement, tracked)) is not None
    ]
    if not boxes:
        return first, second
    low = np.min([box[0] for box in boxes], axis=0)
    high = np.max([box[1] for box in boxes], axis=0)
    pane = np.array(size, dtype=float)
    k = min(1.0, float((pane / (high - low)).min()))
    # Nothing is moved that is inside already; what sticks out is brought just inside.
    low, high = low * k, high * k
    shift = np.where(low < 0, -low, np.where(high > pane, pane - high, 0.0))
    if k < 1.0:
        shift = (pane - (low + high)) / 2
    x, y = float(shift[0]), float(shift[1])
    moved, other = (replace(p, scale=p.scale * k, x=p.x * k + x, y=p.y * k + y) for p in (first, second))
    return moved, other


def _box_on_pane(placement: Placement, tracked: DerivedSignals) -> tuple[Floats, Floats] | None:
    seen = _during(tracked)
    if len(seen) < 4:
        return None
    on_pane = placement.points(seen)
    low, high = on_pane.min(axis=0), on_pane.max(axis=0)
    room = float((high - low).max())
    return low - np.array([0.02, 0.11]) * room, high + np.array([0.02, 0.03]) * room


def _feet(placement: Placement, tracked: DerivedSignals) -> tuple[float, float] | None:
    middle = tracked.middle("ankle", None)
    return placement.point(middle) if middle is not None else None


def _size_ratio(tracked: DerivedSignals, other: DerivedSignals) -> float:
    """By what this stroke's px are to be multiplied to be the other's."""
    if tracked.body_cm_per_px and other.body_cm_per_px:
        return tracked.body_cm_per_px / other.body_cm_per_px
    for low, high in (("ankle", "shoulder"), ("hip", "shoulder")):
        sizes = []
        for one in (tracked, other):
            a, b = one.middle(low, None), one.middle(high, None)
            sizes.append(float(np.hypot(a[0] - b[0], a[1] - b[1])) if a and b else 0.0)
        if min(sizes) > 0:
            return sizes[1] / sizes[0]
    return 1.0


def placements(playback: Playback, size: tuple[int, int]) -> tuple[Placement, Placement | None]:
    """Where the two pictures lie on panes of that size; of the main stroke alone where nothing stands beside it."""
    main, other = playback.main, playback.other
    placement = fit(main.stroke_clip, main.tracked, size, playback.close_up)
    if playback.layout == "one" or other is None or playback.pair is None:
        return placement, None
    theirs = matched(
        other.stroke_clip, other.tracked, placement.mirrored != playback.pair.mirrored, placement, main.tracked
    )
    return both_inside(placement, main.tracked, theirs, other.tracked, size)
