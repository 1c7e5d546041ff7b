"""The player's frame of reference, and the only way between it and the picture.

Picture: x right, y down, in pixels counted as arrays are indexed and as OpenCV gives places back: the middle of the first
pixel lies at 0, that of the last one at width - 1. So the mirrored picture has x at width - 1 - x. Putter, ball and head
are found in arrays; the pose model counts shares of the width from the picture's edge, half a pixel more, and as its points
are mirrored alike they are off by that half pixel toward the target for either hand.

Player: along, + toward the target; across, + from the player toward the ball; up. A camera face-on sees along and up; one
down the line sees across and up, and what lies farther along the ground appears higher: there the way along the line shows
in ``up_px``, foreshortened. For a right-hander along (face-on) and across (down the line, the camera behind the player) are
the picture's x; for a left-hander the mirrored x. What a view cannot see is NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, Mapping, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

View = Literal["face-on", "down-the-line"]
Handedness = Literal["right", "left"]
Side = Literal["lead", "trail"]
Grip = Literal["trail hand low", "lead hand low", "hands level", "lead hand only", "trail hand only"]
Number = TypeVar("Number", float, npt.NDArray[np.float64])


class Point(NamedTuple):
    """A place in the player's frame (px), with a confidence 0..1; NaN: not seen from there."""

    along_px: float
    up_px: float
    confidence: float
    across_px: float = math.nan


def mirrored_x(x_px: Number, width_px: float) -> Number:
    """Where that x lies in the mirrored picture."""
    return width_px - 1 - x_px


@dataclass(frozen=True, slots=True)
class PlayerFrame:
    """Who is filmed from where. width_px: of the picture; only a left-hander's needs it. grip, long_putter: what is held, and
    how, as the player says; they are of the moment and not kept with a stroke's signals.
    """

    view: View = "face-on"
    handedness: Handedness = "right"
    width_px: float = 0.0
    grip: Grip = "trail hand low"
    long_putter: bool = False

    @property
    def holding(self) -> tuple[Side, ...]:
        """The hands that hold the putter."""
        only: Mapping[Grip, tuple[Side, ...]] = {"lead hand only": ("lead",), "trail hand only": ("trail",)}
        return only.get(self.grip, ("lead", "trail"))

    @property
    def one_line(self) -> bool:
        """Whether lead arm and shaft hang as one, so that the angle between them tells what the wrists do."""
        return "lead" in self.holding and not self.long_putter

    @property
    def face_on(self) -> bool:
        """Whether along is seen, else across."""
        return self.view == "face-on"

    @property
    def line(self) -> Literal["along", "up"]:
        """The axis on which the way along the line shows; down the line foreshortened, to tell motion from rest by."""
        return "along" if self.face_on else "up"

    @property
    def aside(self) -> Literal["along", "across"]:
        """The axis that shows as the picture's x."""
        return "along" if self.face_on else "across"

    @property
    def mirrored(self) -> bool:
        """Whether along and across run against the picture's x."""
        return self.handedness == "left"

    def sideways(self, x_px: Number) -> Number:
        """The picture's x as along or across, whichever is seen; and back: it is its own inverse."""
        return mirrored_x(x_px, self.width_px) if self.mirrored else x_px

    def to_player(self, x_px: float, y_px: float, confidence: float = 1.0) -> Point:
        """A place in the picture as the player's."""
        aside, up = self.sideways(float(x_px)), -float(y_px)
        if self.face_on:
            return Point(aside, up, float(confidence))
        return Point(math.nan, up, float(confidence), aside)

    def in_view(self, point: Point) -> tuple[float, float]:
        """What the view sees of the point: (along or across, up)."""
        return (point.along_px if self.face_on else point.across_px), point.up_px

    def to_picture(self, point: Point) -> tuple[float, float]:
        """The place in the picture (x, y) again."""
        aside, up = self.in_view(point)
        return self.sideways(aside), -up

    def seen(self, point: Point) -> bool:
        """Whether the point has a place in the picture."""
        return all(math.isfinite(v) for v in self.in_view(point))

    def side_of(self, body_side: Literal["left", "right"]) -> Side:
        """The lead side is the one nearer to the target: a right-hander's left."""
        return "lead" if (body_side == "left") == (self.handedness == "right") else "trail"

    def named(self, name: str) -> str:
        """A body point's own name (left_knee) in the player's words (lead_knee); what has no side stays."""
        return _named(name, self.handedness)


@lru_cache(maxsize=256)
def _named(name: str, handedness: Handedness) -> str:
    """Asked for every point of every frame."""
    frame, (side, _, part) = PlayerFrame(handedness=handedness), name.partition("_")
    players: dict[str, Side] = {"left": frame.side_of("left"), "right": frame.side_of("right")}
    return f"{players[side]}_{part}" if side in players else name


RIGHT_HANDED = PlayerFrame()  # face-on: along is the picture's x
