"""What the measures of posture start from: one still address as it was seen, in a picture mirrored for a left-hander."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Mapping, NamedTuple, Sequence

import numpy as np

from trainer.coaching.posture.hint import Hint
from trainer.domain.observation import Handedness, View
from trainer.domain.perspective import CameraView
from trainer.domain.player_frame import PlayerFrame

UNKNOWN = 0.3  # confidence of what leans on a camera taken to stand straight; below MIN_CONFIDENCE
MIN_SEEN = 0.3  # visibility below which the pose model invents a limb rather than sees it


class Mark(NamedTuple):
    """A place in the picture (px, x right, y down) with a confidence 0..1."""

    x: float
    y: float
    confidence: float


class BallMark(NamedTuple):
    """The ball's centre and apparent diameter (px), with a confidence 0..1."""

    x: float
    y: float
    diameter_px: float
    confidence: float


@dataclass(frozen=True)
class AddressSeen:
    """One still address.

    points: lead_/trail_ names and ``nose``, all of the pose model's points with their visibility, seen or guessed;
    size: width, height px; height_cm: standing height, None unknown; camera: how it stands, with the confidence 0..1 of its
    tilt and of the target line's direction. All in the picture mirrored for a left-hander.
    """

    view: View
    size: tuple[int, int]
    points: Mapping[str, Mark]
    camera: CameraView
    ball: BallMark | None = None
    height_cm: float | None = None
    tilt_confidence: float = 0.0
    azimuth_confidence: float = 0.0
    notes: tuple[Hint, ...] = field(default=())
    handedness: Handedness = "right"

    @property
    def upright_sure(self) -> float:
        """How far plumb lines can be trusted, 0..1; not enough for a verdict while the camera's tilt is not known."""
        return min(1.0, UNKNOWN + (1 - UNKNOWN) * self.tilt_confidence)

    @property
    def line_sure(self) -> float:
        """How far the target line's direction can be trusted, 0..1; not enough for a verdict while it is not known."""
        return min(1.0, UNKNOWN + (1 - UNKNOWN) * self.azimuth_confidence)

    def mark(self, name: str) -> Mark | None:
        """The point, or None when it was not seen well enough to be anything but a guess."""
        point = self.points.get(name)
        return point if point is not None and point.confidence >= MIN_SEEN else None


def mirrored(points: Mapping[str, Any], width_px: int, handedness: Handedness) -> dict[str, Mark]:
    """The pose model's points (left_/right_ names, x px, y px, visibility) by lead and trail, the picture mirrored if need be."""
    frame = PlayerFrame(handedness=handedness, width_px=width_px)
    return {
        frame.named(name): Mark(frame.sideways(float(p[0])), float(p[1]), float(p[2])) for name, p in points.items()
    }


def mirrored_ball(ball: BallMark | None, width_px: int, handedness: Handedness) -> BallMark | None:
    """The ball in the picture mirrored for a left-hander."""
    return None if ball is None else ball._replace(x=PlayerFrame("face-on", handedness, width_px).sideways(ball.x))


def steady(frames: Sequence[Mapping[str, Any]]) -> dict[str, np.ndarray[Any, np.dtype[np.float64]]]:
    """Median of each point over several frames of a still player; frames that lack the point are left out."""
    names = {name for frame in frames for name in frame}
    return {
        name: np.median([np.asarray(f[name], dtype=float)[:3] for f in frames if name in f], axis=0) for name in names
    }


def middle(a: Mark, b: Mark) -> Mark:
    """Half way between two points, as sure as the less sure of them."""
    return Mark((a.x + b.x) / 2, (a.y + b.y) / 2, min(a.confidence, b.confidence))
