"""Body points from the pose model, raw: no smoothing by the library (it trails by half a frame), none of ours here."""

from __future__ import annotations

import contextlib
import sys
import threading
import types
from collections.abc import Iterator, Mapping
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from trainer.domain.player_frame import mirrored_x
from trainer.native_output import quiet

Array = npt.NDArray[Any]

# Places of the 33 points (MediaPipe pose topology, BlazePose, arXiv:2006.10204) that this project uses.
POSE_POINTS: Mapping[str, int] = {
    "nose": 0, "left_eye": 2, "right_eye": 5, "left_ear": 7, "right_ear": 8,
    "left_shoulder": 11, "right_shoulder": 12, "left_elbow": 13, "right_elbow": 14, "left_wrist": 15, "right_wrist": 16,
    "left_index": 19, "right_index": 20,
    "left_hip": 23, "right_hip": 24, "left_knee": 25, "right_knee": 26, "left_ankle": 27, "right_ankle": 28,
    "left_heel": 29, "right_heel": 30, "left_toe": 31, "right_toe": 32,
}  # fmt: skip


class BodyTracker(Protocol):
    """Anything that finds one person's points in a picture."""

    def find(self, image_bgr: Array) -> dict[str, Array] | None:
        """name -> (x px, y px, visibility 0..1), or None when nobody is seen."""

    def close(self) -> None:
        """Frees the model."""


@contextlib.contextmanager
def _without_plotting() -> Iterator[None]:
    """Importing the pose model would import matplotlib's pyplot for a drawing helper that we do not use: a second of
    start-up. Empty modules stand in for it meanwhile and are gone afterwards."""
    absent = [n for n in ("matplotlib", "matplotlib.pyplot") if n not in sys.modules]
    for name in absent:
        sys.modules[name] = types.ModuleType(name)
    if "matplotlib" in absent:
        sys.modules["matplotlib"].pyplot = sys.modules["matplotlib.pyplot"]  # type: ignore[attr-defined]
    try:
        yield
    finally:
        for name in absent:
            del sys.modules[name]


_loading = threading.Lock()  # the import stands stand-ins in sys.modules for a while, which is one for all threads


class PoseBody:
    """MediaPipe 0.10.21 ``solutions.pose``, full model, one person. The model is inside the wheel: no download.

    mirrored: the model is shown the mirrored picture. Its errors are not the same to both sides (a left-hander's wrists and
    elbows moved the arm-shaft angle by 2.5 deg); shown every left-hander as a right-hander it makes the same ones for both.
    """

    def __init__(self, mirrored: bool = False) -> None:
        self._mirrored = mirrored
        with _loading, quiet(), _without_plotting():
            from mediapipe.python.solutions import pose

            self._pose = pose.Pose(model_complexity=1, smooth_landmarks=False)
            self._pose.process(np.zeros((64, 64, 3), np.uint8))

    def find(self, image_bgr: Array) -> dict[str, Array] | None:
        import cv2

        height, width = image_bgr.shape[:2]
        picture = cv2.cvtColor(image_bgr, cv2.COLOR_BGR2RGB)
        result = self._pose.process(cv2.flip(picture, 1) if self._mirrored else picture)
        if result.pose_landmarks is None:
            return None
        marks = result.pose_landmarks.landmark
        found = {
            n: np.array([marks[i].x * width, marks[i].y * height, marks[i].visibility]) for n, i in POSE_POINTS.items()
        }
        if not self._mirrored:
            return found
        return {_other_side(n): np.array([mirrored_x(p[0], width), p[1], p[2]]) for n, p in found.items()}

    def close(self) -> None:
        self._pose.close()


def _other_side(name: str) -> str:
    """left_knee -> right_knee and the reverse; what has no side stays."""
    side, _, part = name.partition("_")
    return f"{'right' if side == 'left' else 'left'}_{part}" if side in ("left", "right") else name
