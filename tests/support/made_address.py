"""A player at address made of points in space, seen by a camera that stands as one likes. Lengths in cm.

World: x along the target line, y across it (+ from the player toward the ball), z up; the ball lies at the origin. The points lie
before and behind the plane of the body exactly as the measures take them to, so that what is left is geometry.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Mapping

import numpy as np

from tests.support.paths import STILLS
from trainer.coaching.posture.address import AddressSeen, BallMark, Mark
from trainer.coaching.posture.body_model import BALL_CM, FAR_SIDE, NEAR_SIDE
from trainer.domain.observation import View
from trainer.domain.perspective import CameraView, focal_px

SIZE = (640, 480)
STILLS = STILLS
HEIGHT_CM = 175.0
# Across and up of each pair (cm) of an invented player with the ball at the origin.
SIDE_ON = {
    "ankle": (-45.0, 8.0), "heel": (-50.0, 3.0), "toe": (-32.0, 2.0), "knee": (-40.0, 48.0), "hip": (-55.0, 88.0),
    "shoulder": (-20.0, 128.0), "elbow": (-24.0, 100.0), "wrist": (-21.0, 78.0), "eye": (-4.0, 135.0), "ear": (-6.0, 142.0),
}  # fmt: skip


@dataclass(frozen=True)
class Stand:
    """Where a camera is and how it is turned (degrees, as in ``CameraView``)."""

    eye: tuple[float, float, float]
    roll_deg: float = 0.0
    pitch_deg: float = 0.0
    azimuth_deg: float = 0.0


DOWN_THE_LINE = Stand((-290.0, -20.0, 100.0), pitch_deg=4.0)
FACE_ON = Stand((0.0, 280.0, 60.0), pitch_deg=-4.0)


def camera(view: View, stand: Stand) -> CameraView:
    """The camera that stands like this."""
    middle = (SIZE[0] / 2, SIZE[1] / 2)
    return CameraView(focal_px(SIZE[1]), middle, view, stand.roll_deg, stand.pitch_deg, stand.azimuth_deg)


def seen_at(view: CameraView, stand: Stand, place: Any) -> tuple[float, float, float]:
    """x, y px and depth cm of a place in the world."""
    along, across, up = view.axes
    x, y, z = np.asarray(place, dtype=float) - np.asarray(stand.eye)
    p = x * along + y * across + z * up
    return (*view.project(p), float(p[2]))


def side_places(side_on: Mapping[str, tuple[float, float]] = SIDE_ON, along_cm: float = 0.0) -> dict[str, Any]:
    """name -> place in the world of a player made from one side view."""
    out = {"nose": np.array([along_cm, *side_on["eye"]])}
    for part, (across, up) in side_on.items():
        near, far = NEAR_SIDE.get(part, 0.0), FAR_SIDE.get(part, 0.0)
        out[f"trail_{part}"] = np.array([along_cm - near * HEIGHT_CM, across, up])
        out[f"lead_{part}"] = np.array([along_cm + far * HEIGHT_CM, across, up])
    return out


def address(
    view: View, stand: Stand, places: Mapping[str, Any], ball_along_cm: float = 0.0, height_cm: float | None = HEIGHT_CM
) -> AddressSeen:
    """What that camera sees, its stand known for sure."""
    eye = camera(view, stand)
    marks = {name: Mark(*seen_at(eye, stand, place)[:2], 1.0) for name, place in places.items()}
    x, y, depth = seen_at(eye, stand, (ball_along_cm, 0.0, BALL_CM / 2))
    off = 1 / np.linalg.norm(eye.ray(x, y))
    ball = BallMark(x, y, eye.focal_px * BALL_CM / depth / float(off) ** 0.5, 1.0)
    return AddressSeen(view, SIZE, marks, eye, ball, height_cm, 1.0, 1.0)


@lru_cache(maxsize=1)
def truths() -> dict[str, dict[str, Any]]:
    """name -> truth of the rendered stills, with the pose model's points as ``two_looks`` gave them once."""
    found: dict[str, dict[str, Any]] = json.loads((STILLS / "truth.json").read_text(encoding="utf-8"))
    return found


def picture(name: str) -> Any:
    """(h, w, 3) uint8 BGR of one still."""
    import cv2

    image = cv2.imread(str(STILLS / f"{name}.jpg"))
    assert image is not None, name
    return image


def points(name: str) -> dict[str, Any]:
    """The pose model's points of one still, as recorded."""
    return {n: np.array(p) for n, p in truths()[name]["points"].items()}


class Still:
    """A body tracker for one picture: the same points however often it is asked, mirrored for the mirrored picture, else none."""

    def __init__(self, found: dict[str, Any] | None, image: Any) -> None:
        self._found, self._image = found, image

    def find(self, image_bgr: Any) -> dict[str, Any] | None:
        if self._found is None or np.array_equal(image_bgr, self._image):
            return self._found
        if not np.array_equal(image_bgr, self._image[:, ::-1]):
            return None
        width = image_bgr.shape[1]
        swap = {"left": "right", "right": "left"}
        out = {}
        for name, point in self._found.items():
            side, _, rest = name.partition("_")
            out[f"{swap[side]}_{rest}" if rest else name] = np.array([width - point[0], point[1], point[2]])
        return out

    def close(self) -> None:
        """Nothing to free."""
