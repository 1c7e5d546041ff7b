"""Where things are in space, as seen by one camera whose tilt is known. Pure numpy.

Picture: x right, y down (px), the top left corner at (0, 0); the picture of a left-hander is mirrored first, so that all below
is a right-hander. Camera axes: x right, y down, z forward. World axes, as unit vectors in camera axes: ``along`` the target
line, + toward the target; ``across``, + from the player toward the ball; ``up``, against gravity. Lengths are cm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from trainer.domain.observation import View

Floats = npt.NDArray[np.float64]

# Vertical field of view of a usual webcam in its 4:3 or 16:9 mode, 40 to 50 deg; common practice, no source. What follows
# from it hardly leans on it, because lengths come from the ball or the player.
USUAL_VERTICAL_FOV_DEG = 45.0


def focal_px(height_px: float, vertical_fov_deg: float = USUAL_VERTICAL_FOV_DEG) -> float:
    """Focal length in pixels of a camera without distortion."""
    return height_px / 2 / math.tan(math.radians(vertical_fov_deg) / 2)


def world_axes(
    roll_deg: Floats | float, pitch_deg: Floats | float, azimuth_deg: Floats | float, view: View
) -> tuple[Floats, Floats, Floats]:
    """(down, along, across), each (..., 3) unit vectors in camera axes. Angles (...,) as in ``CameraView``."""
    roll, pitch, azimuth = (
        np.radians(np.asarray(a, dtype=np.float64)) for a in np.broadcast_arrays(roll_deg, pitch_deg, azimuth_deg)
    )
    down = np.stack([-np.sin(roll) * np.cos(pitch), np.cos(roll) * np.cos(pitch), np.sin(pitch)], axis=-1)
    forward = np.zeros_like(down)
    forward[..., 2] = 1.0
    forward = forward - down[..., 2:3] * down
    forward /= np.linalg.norm(forward, axis=-1, keepdims=True)
    right = np.cross(down, forward)
    cos, sin = np.cos(azimuth)[..., None], np.sin(azimuth)[..., None]
    along = cos * right + sin * forward if view == "face-on" else cos * forward + sin * right
    return down, along, np.cross(down, along)


@dataclass(frozen=True, slots=True)
class CameraView:
    """One camera looking at a player.

    roll_deg: the picture is turned by it, + when upright things lean to the right at their top; pitch_deg: + looking down;
    azimuth_deg: the target line against where it would be for a camera that looks straight at the player's front
    (face-on: + when it runs away from the camera) or straight down the line (+ when it runs to the right).
    """

    focal_px: float
    centre_px: tuple[float, float]
    view: View
    roll_deg: float = 0.0
    pitch_deg: float = 0.0
    azimuth_deg: float = 0.0

    @property
    def axes(self) -> tuple[Floats, Floats, Floats]:
        """(along, across, up) as unit vectors in camera axes."""
        down, along, across = world_axes(self.roll_deg, self.pitch_deg, self.azimuth_deg, self.view)
        return along, across, -down

    def ray(self, x_px: float, y_px: float) -> Floats:
        """Direction of a point of the picture, in camera axes, with z = 1."""
        return np.array([(x_px - self.centre_px[0]) / self.focal_px, (y_px - self.centre_px[1]) / self.focal_px, 1.0])

    def project(self, place_cm: Floats) -> tuple[float, float]:
        """The picture point (px) of a place in camera axes (cm); it must lie before the camera."""
        x, y, z = (float(v) for v in place_cm)
        return self.centre_px[0] + self.focal_px * x / z, self.centre_px[1] + self.focal_px * y / z


def on_plane(ray: Floats, normal: Floats, offset_cm: float) -> Floats:
    """Where a ray from the camera meets the plane normal . P = offset_cm (camera axes, cm); NaN when it never does."""
    slope = float(ray @ normal)
    reach = offset_cm / slope if abs(slope) > 1e-9 else math.nan
    return ray * reach if reach > 0 else np.full(3, math.nan)


def sphere_distance_cm(camera: CameraView, x_px: float, y_px: float, diameter_px: float, diameter_cm: float) -> float:
    """Depth (cm along the camera's axis) of a ball from its apparent diameter.

    Away from the picture's middle a ball looks longer toward the edge, by 1 / cos of the angle off the axis; a disc fitted to it
    is wider by the root of that.
    """
    ray = camera.ray(x_px, y_px)
    off_axis = 1.0 / float(np.linalg.norm(ray))
    return camera.focal_px * diameter_cm / (diameter_px * math.sqrt(off_axis))
