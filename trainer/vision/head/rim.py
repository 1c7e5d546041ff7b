"""Turn of a head under a wide brim, by the rim (STUDY.md, "Wide brims").

Under such a hat shading is nearly all that a picture of the head holds, and it stays with the light. A brim is longer from front
to back than from side to side, and its rim is a curve of the hat itself: seen at an angle it is an ellipse whose shape tells how
far it has been turned about the head's long axis.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.vision.head.fusion import Turn

Array = npt.NDArray[Any]


@dataclass(frozen=True, slots=True)
class RimOptions:
    """Set by the study in STUDY.md ("Wide brims").

    longer: a brim's length over its width; error_deg, error_share: error to be expected, alone and of the turn, which is what
    brims that are longer or shorter leave. search_blurs: how far from where it was last the rim is looked for; rounds: of the
    fit; faded: share of the edge at rest below which it is lost; rest_frames: whose turn is none.
    """

    longer: float = 1.25
    error_deg: float = 4.0
    error_share: float = 0.3
    search_blurs: float = 5.0
    rounds: int = 3
    faded: float = 0.5
    rest_frames: int = 8


@dataclass(frozen=True, slots=True)
class Rim:
    """An ellipse in the camera's picture, px: centre (2,), and the symmetric (2, 2) matrix that makes it of the unit circle."""

    centre: Array
    shape: Array


_ARC = np.radians(np.arange(-30.0, 211.0, 7.5))  # sides and lower rim; the upper may lie behind the crown
_CIRCLE = np.stack([np.cos(_ARC), np.sin(_ARC)], axis=1)
_TURNS = np.radians(np.arange(-75.0, 75.5, 1.0))
_TILTS = np.arange(0.35, 1.01, 0.02)  # cosines of the angle between the brim's normal and the line of sight


def _shapes(longer: float) -> Array:
    """(turns, tilts, 3) squared shape (xx, xy, yy) of a brim one wide, turned and then seen at a tilt."""
    turn, tilt = np.meshgrid(_TURNS, _TILTS, indexing="ij")
    cos2, sin2, both = np.cos(turn) ** 2, np.sin(turn) ** 2, np.sin(turn) * np.cos(turn)
    long2 = longer**2
    return np.stack([cos2 + long2 * sin2, (long2 - 1) * both * tilt, (sin2 + long2 * cos2) * tilt**2], axis=-1)


class RimFollower:
    """Follows one brim's rim from a picture of the head at rest."""

    def __init__(self, options: RimOptions, image: Array, rim: Rim, *, mirrored: bool) -> None:
        """mirrored: the target is to the picture's left."""
        self._options, self._rim = options, rim
        self._sign = -1.0 if mirrored else 1.0
        self._blur = max(0.6, float(np.linalg.norm(rim.shape)) / 45)
        self._table = _shapes(options.longer)
        for _ in range(2):
            edge = self._fit(image)
        self._edge = edge
        self._wide = float(np.hypot(*self._rim.shape[0]))
        self._zeros: list[float] = []

    def follow(self, image: Array) -> Turn | None:
        """Since rest; None where the rim is lost."""
        o = self._options
        if not self._fit(image) > o.faded * self._edge:
            return None
        turn = self._turn_deg()
        if len(self._zeros) < o.rest_frames:
            self._zeros.append(turn)
        turn -= float(np.mean(self._zeros))
        return Turn(self._sign * turn, math.hypot(o.error_deg, o.error_share * turn))

    def _turn_deg(self) -> float:
        s = self._rim.shape @ self._rim.shape / self._wide**2
        off = self._table - (s[0, 0], s[0, 1], s[1, 1])
        off[..., 1] *= math.sqrt(2)
        k = int(np.argmin((off * off).sum(axis=-1)))
        return math.degrees(float(_TURNS[k // len(_TILTS)]))

    def _fit(self, image: Array) -> float:
        """Moves the rim to where the picture changes most across it; how much that is, grey levels."""
        o, rim = self._options, self._rim
        reach = 1.3 * np.abs(rim.shape).sum(axis=1) + 4 * o.search_blurs * self._blur
        low = np.maximum((rim.centre - reach).astype(int), 0)
        high = np.maximum((rim.centre + reach).astype(int), low + 2)
        crop = image[low[1] : high[1], low[0] : high[0]].astype(np.float32)
        if min(crop.shape[:2]) < 2:
            return 0.0
        crop = cv2.GaussianBlur(crop, (0, 0), self._blur)
        centre, shape = rim.centre - low, rim.shape
        edge = 0.0
        for k in range(o.rounds):
            reach_px = o.search_blurs * self._blur / (k + 1)
            steps = np.linspace(-reach_px, reach_px, 13)
            normal = _CIRCLE @ np.linalg.inv(shape)
            normal /= np.linalg.norm(normal, axis=1, keepdims=True)
            at = (centre + _CIRCLE @ shape)[:, None] + normal[:, None] * steps[:, None]
            read = cv2.remap(crop, at.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
            change = np.linalg.norm(np.diff(read, axis=1), axis=2) / (steps[1] - steps[0])
            middle = (steps[1:] + steps[:-1]) / 2
            power = change**4
            off = (power @ middle) / (power.sum(axis=1) + 1e-9)
            edge = float(change.max(axis=1).mean())
            found = _solve(normal, off, np.sqrt(change.max(axis=1)))
            centre = centre + found[:2]
            shape = shape + np.array([[found[2], found[3]], [found[3], found[4]]])
        self._rim = Rim(centre + low, shape)
        return edge


def _solve(normal: Array, off: Array, weight: Array) -> Array:
    """(5,) change of centre (x, y) and shape (xx, xy, yy) that moves the rim by ``off`` (n,) along ``normal`` (n, 2)."""
    (nx, ny), (x, y) = normal.T, _CIRCLE.T
    columns = np.stack([nx, ny, nx * x, nx * y + ny * x, ny * y], axis=1)
    found = np.zeros(5)
    for _ in range(2):
        weighed = columns * weight[:, None] ** 2
        found = np.linalg.solve(weighed.T @ columns + 1e-6 * np.eye(5), weighed.T @ off)
        left = np.abs(off - columns @ found)
        weight = weight / np.maximum(left / (2 * np.median(left) + 0.1), 1)
    return found
