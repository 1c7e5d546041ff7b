"""The head as a bowed ellipsoid: where its surface points lie, and how a picture of them changes when it turns.

Units: head half-widths. Axes as a camera sees them: x toward the target (the picture is mirrored for a left-hander
before it comes here), y down, z away from the camera. The long axis (crown) of a head bowed over a ball, seen from knee
to chest height, leans toward the camera: its angle with the viewing direction has cosine CROWN_COS. On rendered truth
it runs from 0.59 to 0.82 (head pitch 58-64 deg, cameras at 0.55-1.0 m); 0.70 is the middle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]

CROWN_COS = 0.70
CROWN_SIN = float(np.sqrt(1 - CROWN_COS**2))
CROWN_AXIS = np.array([0.0, -CROWN_SIN, -CROWN_COS])
NOD_AXIS = np.array([1.0, 0.0, 0.0])
LEAN_AXIS = np.cross(CROWN_AXIS, NOD_AXIS)
# Columns turn (head turn), nod, lean into a rotation vector.
AXES = np.stack([CROWN_AXIS, NOD_AXIS, LEAN_AXIS], axis=1)

# Head height : half-width and depth : half-width, adult; rounded from head breadth 15 cm, length 19 cm,
# menton-crown 22 cm (from memory of anthropometric tables; the tracker bears 15 % without harm).
HEIGHT = 1.45
DEPTH = 1.25
FACING = 0.4  # cosine to the camera from which a point counts fully; 0 at the outline; no study kept
# Of the half-height, below the middle: where the lower part begins, and over how much it comes; no study kept.
LOWER_FROM, LOWER_OVER = 0.2, 0.2


# The cross product with a vector (3,) as a matrix (9,), row by row: vector @ _CROSS; each number comes through as it is.
_CROSS = np.array([[0, 0, 0, 0, 0, -1, 0, 1, 0], [0, 0, 1, 0, 0, 0, -1, 0, 0], [0, -1, 0, 1, 0, 0, 0, 0, 0]], float)
_UNIT = np.eye(3)


@dataclass(frozen=True, slots=True)
class Shape:
    """One hypothesis of what moves with the head, as a change to the placed ellipse.

    shift: centre moved down, in half-heights; tall: half-height factor; bulge: how far the lower part (peak of a cap,
    chin) stands out toward the camera beyond the ellipsoid, in half-widths; own: 0 the points lie on the placed
    ellipsoid, 1 on one stretched to this shape's own height, between: between.
    """

    shift: float
    tall: float
    bulge: float
    own: float = 0.0


def surface(
    shape: Shape, half_height: float, per_half: float, margin: float
) -> tuple[Floats, Floats, Floats, npt.NDArray[np.float64]]:
    """Grid of visible surface points of the shape on an ellipse of half-width 1 and ``half_height``.

    Returns points (n,3), weights (n,) falling toward the occluding outline, lower (n,) 1 in the lower part where the
    outline belongs to the head's own peak or chin, and the quadric (3,3) whose gradient is the outward normal.
    """
    tall, shift = half_height * shape.tall, half_height * shape.shift
    ys, xs = np.mgrid[-tall * margin : tall * margin : 1 / per_half, -margin : margin : 1 / per_half]
    u = np.stack([xs.ravel(), ys.ravel()], axis=1)
    u = u[u[:, 0] ** 2 + (u[:, 1] / tall) ** 2 < margin**2]
    low = np.clip(u[:, 1] / tall, 0, 1)
    lower = np.clip((u[:, 1] / tall - LOWER_FROM) / LOWER_OVER, 0, 1)
    own = shape.own
    u[:, 1] += shift * (1 - own)
    crown, face = CROWN_AXIS, np.array([0.0, CROWN_COS, -CROWN_SIN])
    k = (tall * own + half_height * (1 - own)) / np.hypot(HEIGHT * CROWN_SIN, DEPTH * CROWN_COS)
    quadric = (
        np.diag([1.0, 0, 0]) + np.outer(crown, crown) / (HEIGHT * k) ** 2 + np.outer(face, face) / (DEPTH * k) ** 2
    )
    a = quadric[2, 2]
    b = 2 * quadric[1, 2] * u[:, 1]
    c = u[:, 0] ** 2 + quadric[1, 1] * u[:, 1] ** 2 - 1
    z = (-b - np.sqrt(np.clip(b * b - 4 * a * c, 0, None))) / (2 * a)
    points = np.column_stack([u[:, 0], u[:, 1], z])
    weight = np.maximum(np.clip(facing_camera(points, quadric) / FACING, 0, 1), lower)
    points[:, 2] -= shape.bulge * low * low * (3 - 2 * low)  # comes and goes without a kink
    points[:, 1] += shift * own
    return points.astype(np.float32), weight.astype(np.float32), lower.astype(np.float32), quadric


def facing_camera(points: npt.NDArray[np.float64], quadric: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Cosine between each point's outward normal and the direction to the camera."""
    normal = points @ quadric
    return np.asarray(-normal[:, 2] / np.linalg.norm(normal, axis=1))


def rotations(vectors: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Rotation matrices (h,3,3) of rotation vectors (h,3) in radians (Rodrigues' formula)."""
    length = np.sqrt(np.add.reduce(vectors * vectors, axis=1))
    angle = length[:, None, None]
    still = length < 1e-9
    any_still = still.any()
    safe = np.where(still, 1.0, length) if any_still else length
    cross = ((vectors / safe[:, None]) @ _CROSS).reshape(-1, 3, 3)
    turned: npt.NDArray[np.float64] = _UNIT + np.sin(angle) * cross + (1 - np.cos(angle)) * (cross @ cross)
    if any_still:
        turned[still] = _UNIT
    return turned
