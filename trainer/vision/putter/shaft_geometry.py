"""Geometry of the shaft in the picture: a ray from the hands, and the strip of picture along it.

Coordinates: px, top left corner of the picture at (0, 0) (centre of the first pixel at 0.5, 0.5), x right, y down.
Angles: degrees from straight down, + = toward the right of the picture.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Ray:
    """A line with a start and a direction. Places on it: s px along, x px toward the right of the picture."""

    x: float
    y: float
    angle_deg: float

    @property
    def along(self) -> XY:
        a = math.radians(self.angle_deg)
        return math.sin(a), math.cos(a)

    @property
    def across(self) -> XY:
        ux, uy = self.along
        return uy, -ux

    def place(self, s: float, x: float = 0.0) -> XY:
        ux, uy = self.along
        return self.x + s * ux + x * uy, self.y + s * uy - x * ux

    def leaves(self, width: float, height: float) -> float:
        """s at which it leaves a picture in which it starts."""
        ways = zip((self.x, self.y), self.along, (width, height), strict=True)
        return min(((size if step > 0 else 0.0) - at) / step for at, step, size in ways if step)

    def measure(self, point: XY) -> XY:
        """(s, x) of a point."""
        ux, uy = self.along
        dx, dy = point[0] - self.x, point[1] - self.y
        return dx * ux + dy * uy, dx * uy - dy * ux

    def tilted(self, x_start: float, x_end: float, length: float) -> Ray:
        """The ray that passes x_start beside this one at s = 0 and x_end beside it at s = length."""
        (px, py), (qx, qy) = self.place(0.0, x_start), self.place(length, x_end)
        return through((px, py), (qx, qy))


def through(start: XY, end: XY) -> Ray:
    """The ray from start toward end."""
    return Ray(start[0], start[1], math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])))


def tangent_through(pivot: XY, point: XY, offset_px: float) -> Ray:
    """The ray toward ``point`` that leaves ``pivot`` offset_px on its right-hand side; it starts beside the pivot.

    pivot is then at (s, x) = (0, offset_px) of the ray.
    """
    dx, dy = point[0] - pivot[0], point[1] - pivot[1]
    distance = math.hypot(dx, dy)
    turn = math.degrees(math.asin(max(-0.9, min(0.9, offset_px / max(distance, 1e-6)))))
    ray = Ray(pivot[0], pivot[1], math.degrees(math.atan2(dx, dy)) + turn)
    start = ray.place(0.0, -offset_px)
    return Ray(start[0], start[1], ray.angle_deg)


def strip(image: Any, ray: Ray, start: float, rows: int, half: int, row_px: float = 1.0) -> Any:
    """(rows, 2 half + 1[, channels]): row i is s = start + (i + 0.5) row_px along the ray, column j is x = j - half.

    image: uint8 or float32; bilinear; the border repeats.
    """
    ux, uy = ray.along
    ox, oy = ray.place(start + 0.5 * row_px, -half)
    matrix = np.array([[uy, ux * row_px, ox - 0.5], [-ux, uy * row_px, oy - 0.5]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return cv2.warpAffine(image, matrix, (2 * half + 1, rows), flags=flags, borderMode=cv2.BORDER_REPLICATE)
