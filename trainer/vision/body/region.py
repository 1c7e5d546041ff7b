"""The square of the picture that a model is shown: cut out upright, and back to places in the picture."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.body.model import Floats

Picture = npt.NDArray[np.uint8]
Places = npt.NDArray[np.float64]  # (n, 2): x, y

CORNERS = np.array([[0, 1], [0, 0], [1, 0], [1, 1]], np.float32)  # shares of a region's side
MARGIN = 1.25  # the region's half side in distances from the hips' middle to the far point: as the landmark model was trained
FRAME_S = 1.0 / 30.0
MIN_CUTOFF_HZ, CUTOFF_PER_SPEED, SPEED_CUTOFF_HZ = 0.01, 10.0, 1.0
MIN_REACH_PX = 1.0  # points nearer to each other say nothing of a person


@dataclass(frozen=True)
class Region:
    """A square, turned by ``angle_rad`` (positive: clockwise as seen)."""

    x_px: float
    y_px: float
    side_px: float
    angle_rad: float = 0.0

    @classmethod
    def whole(cls, picture: Picture) -> Region:
        """The smallest upright one that holds all of the picture."""
        height, width = picture.shape[:2]
        return cls(width / 2, height / 2, float(max(width, height)))

    @classmethod
    def around(cls, points: Places) -> Region | None:
        """Of a person. points: the middle of the hips, and the point that says how far the body reaches and where up is.

        None where they lie in one place.
        """
        across, down = points[1] - points[0]
        if math.hypot(across, down) < MIN_REACH_PX:
            return None
        # Where up is stands at 90 degrees; brought into half a turn either way.
        angle = math.remainder(math.pi / 2 + math.atan2(down, across), 2 * math.pi)
        return cls(float(points[0][0]), float(points[0][1]), 2 * MARGIN * math.hypot(across, down), angle)

    def cut(self, picture: Picture, side: int, border: int) -> Picture:
        """(side, side, 3) RGB of a BGR picture, linear between pixels. border: OpenCV's, for what lies outside of the picture."""
        corners = self.places(CORNERS).astype(np.float32)
        to_cut = cv2.getPerspectiveTransform(corners, CORNERS * np.float32(side))
        cut = cv2.warpPerspective(picture, to_cut, (side, side), flags=cv2.INTER_LINEAR, borderMode=border)
        return np.asarray(cv2.cvtColor(cut, cv2.COLOR_BGR2RGB))

    def places(self, shares: Floats | Places) -> Places:
        """Pixels of the picture. shares: (n, 2) of the region's side from its upper left corner."""
        across, down = (np.asarray(shares, dtype=np.float64) - 0.5).T * self.side_px
        cos, sin = math.cos(self.angle_rad), math.sin(self.angle_rad)
        return np.stack([self.x_px + cos * across - sin * down, self.y_px + sin * across + cos * down], axis=1)


class RegionFollower:
    """The next frame's region from this one's points, steadied: a one euro filter (G. Casiez and others, CHI 2012) on them.

    Only where the model looks is steadied, never what it says. Numbers, and frames counted as a 30th of a second each, are
    those of MediaPipe 0.10.21, which the limits and tolerances were measured with.
    """

    def __init__(self) -> None:
        self._raw: Places | None = None
        self._smooth: Places = np.zeros((2, 2))
        self._speed: Places = np.zeros((2, 2))

    def forget(self) -> None:
        self._raw = None

    def next_region(self, points: Places) -> Region | None:
        """points: as ``Region.around`` takes them."""
        size_px = 2 * max(float(np.linalg.norm(points[1] - points[0])), MIN_REACH_PX)
        if self._raw is None:
            self._smooth, self._speed = points, np.zeros((2, 2))
        else:
            speed = (points - self._raw) / size_px / FRAME_S
            self._speed = self._speed + _weight(SPEED_CUTOFF_HZ) * (speed - self._speed)
            weight = _weight(MIN_CUTOFF_HZ + CUTOFF_PER_SPEED * np.abs(self._speed))
            self._smooth = self._smooth + weight * (points - self._smooth)
        self._raw = points
        return Region.around(self._smooth)


def _weight(cutoff_hz: float | Places) -> Places:
    """Of the newest value in a first-order low-pass."""
    return np.asarray(1.0 / (1.0 + 1.0 / (2 * math.pi * cutoff_hz * FRAME_S)))
