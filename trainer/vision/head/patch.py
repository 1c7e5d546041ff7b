"""The head's own picture: cut out, normalised in contrast, sampled where the points of its surface show, kept as a key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from trainer.domain.player_frame import mirrored_x
from trainer.vision.head.ellipsoid import AXES, rotations
from trainer.vision.head.state import DOWN, RIGHT, ROTATION, SHIFT, SIZE

Array = npt.NDArray[Any]

HALF_PX = 17.0  # working half-width of the head; larger pictures are shrunk to it
REACH_HALF_WIDTHS = 3.2  # of a patch, from the head's centre
COLOUR_REACH_HALF_WIDTHS = 1.6  # of the picture that tells the mixture of colours
NORMAL_CONTRAST = 30.0  # grey levels (RMS) that a patch is brought to
MIN_CROP_PX = 8


@dataclass(frozen=True, slots=True)
class PatchOptions:
    """Normalising; set by the study in STUDY.md (rows "high-passed" and "local contrast normalised").

    Standard deviations of Gaussians in working px (head half-width 17): blur_px against noise; highpass_px: shading stays
    with the light, not with the head; contrast_px: neighbourhood whose contrast is made the same. contrast_floor: grey
    levels below which a plain surface stays plain.
    """

    blur_px: float = 1.0
    highpass_px: float = 3.2
    contrast_px: float = 5.3
    contrast_floor: float = 6.0


@dataclass(frozen=True, slots=True)
class Patch:
    """picture (h, w) float32; origin (2,) image px of its corner; scale: image px per pixel of it."""

    picture: Array
    origin: Array
    scale: float

    def read(self, xy: Array) -> Array:
        """Samples (h, n) at image places xy (h, 2, n): a row of each coordinate, so that sums go along what lies side by side."""
        return self.read_local(xy - self.origin[:, None])

    def read_local(self, xy: Array) -> Array:
        """The same with places counted from ``origin`` (image px)."""
        m = xy + 0.5
        m /= self.scale
        m -= 0.5
        m = m.astype(np.float32, copy=False)
        samples: Array = cv2.remap(self.picture, m[:, 0], m[:, 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return samples


class PatchSampler:
    """Cuts patches of one head. mirrored: the picture is turned over first, so that the target is to the right."""

    def __init__(self, options: PatchOptions, half_width_px: float, *, mirrored: bool) -> None:
        self._options = options
        self._half_px = half_width_px
        self._mirrored = mirrored
        self._mix: Array | None = None

    def learn_colours(self, image: Array, centre: Array) -> None:
        """The mixture of colour channels in which the head shows most structure (leading axis of its gradients)."""
        crop, _ = self._crop(image, centre, COLOUR_REACH_HALF_WIDTHS)
        crop = cv2.GaussianBlur(crop, (0, 0), max(0.6, self._half_px / HALF_PX))
        dx, dy = cv2.Sobel(crop, cv2.CV_32F, 1, 0), cv2.Sobel(crop, cv2.CV_32F, 0, 1)
        g = np.concatenate([dx.reshape(-1, 3), dy.reshape(-1, 3)])
        g = g / np.sqrt(1 + np.abs(g) / 40)  # a few strong edges must not decide alone
        _, vectors = np.linalg.eigh(g.T @ g)
        mix = vectors[:, -1]
        self._mix = (mix * np.sign(mix.sum() or 1.0)).astype(np.float32).reshape(1, 3)

    def take(self, image: Array, centre: Array) -> Patch:
        """The patch around ``centre``. image: (h, w, 3) uint8 BGR; centre: (mirrored) image px."""
        o = self._options
        scale = max(1.0, self._half_px / HALF_PX)
        crop, origin = self._crop(image, centre, REACH_HALF_WIDTHS)
        grey = cv2.transform(crop, self._mix)
        if scale > 1.05:
            grey = cv2.resize(grey, None, fx=1 / scale, fy=1 / scale, interpolation=cv2.INTER_AREA)
        grey = cv2.GaussianBlur(grey, (0, 0), o.blur_px)
        grey -= cv2.GaussianBlur(grey, (0, 0), o.highpass_px)
        gain = cv2.GaussianBlur(grey * grey, (0, 0), o.contrast_px)
        gain += o.contrast_floor**2
        np.sqrt(gain, out=gain)
        np.divide(NORMAL_CONTRAST, gain, out=gain)
        grey *= gain
        return Patch(grey, origin, scale)

    def _crop(self, image: Array, centre: Array, reach: float) -> tuple[Array, Array]:
        """Float copy of the picture ``reach`` half-widths around the centre, mirrored if asked, and its origin."""
        height, width = image.shape[:2]
        r = int(self._half_px * reach)
        x, y = int(centre[0]), int(centre[1])
        x = int(mirrored_x(x, width)) if self._mirrored else x
        x0, x1 = _within(x, r, width)  # symmetric: mirrored is the same to the bit
        y0, y1 = _within(y, r, height)
        crop = image[y0:y1, x0:x1].astype(np.float32)
        if self._mirrored:
            return np.ascontiguousarray(crop[:, ::-1]), np.array([width - x1, y0], float)
        return crop, np.array([x0, y0], float)


def _within(centre: int, reach: int, length: int) -> tuple[int, int]:
    """First and end of ``reach`` to both sides of the centre, as far as they lie within the length."""
    first, end = max(centre - reach, 0), max(centre + reach + 1, MIN_CROP_PX)
    return min(first, length - MIN_CROP_PX), min(end, length)


@dataclass(frozen=True, slots=True)
class Surface:
    """Visible points of a head: points, normals (n, 3) in half-widths; weight (n,) falling toward the occluding outline.

    lower (n,): 1 where the outline belongs to the head's own peak or chin.
    """

    points: Array
    normals: Array
    weight: Array
    lower: Array


@dataclass(frozen=True, slots=True)
class KeyPicture:
    """The head seen from one side. surface: in the head's own frame; rotation (3, 3) it was taken at.

    picture (n,): the patch at the surface's points; slope (n, 6): its change with the columns of the state.
    """

    surface: Surface
    picture: Array
    slope: Array
    rotation: Array


def take_key(patch: Patch, surface: Surface, state: Array, centre: Array, half_px: float) -> KeyPicture:
    """A key picture of ``surface`` where ``state`` (6,) puts it against the reference at ``centre``, ``half_px`` wide."""
    size = half_px * np.exp(state[SIZE])
    rotation = rotations((AXES @ state[ROTATION])[None])[0].astype(np.float32)
    xy = ((centre + state[SHIFT])[:, None] + surface.points[:, :2].T * size)[None]
    step = np.float32(patch.scale)
    right, down = np.array([[step], [0.0]]), np.array([[0.0], [step]])
    picture = patch.read(xy)[0]
    gx = (patch.read(xy + right) - patch.read(xy - right))[0] / (2 * step)
    gy = (patch.read(xy + down) - patch.read(xy - down))[0] / (2 * step)
    slope = np.empty((len(gx), len(state)), np.float32)
    for k in range(ROTATION.start, ROTATION.stop):
        moved = np.cross(AXES[:, k], surface.points) * size
        slope[:, k] = gx * moved[:, 0] + gy * moved[:, 1]
    slope[:, RIGHT], slope[:, DOWN] = gx, gy
    slope[:, SIZE] = (gx * surface.points[:, 0] + gy * surface.points[:, 1]) * size
    own = Surface(surface.points @ rotation, surface.normals @ rotation, surface.weight, surface.lower)
    return KeyPicture(own, picture, slope, rotation)
