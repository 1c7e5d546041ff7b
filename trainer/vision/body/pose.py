"""Body points from the pose model, raw: nothing smooths them (it would trail by half a frame)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

import cv2
import numpy as np
import numpy.typing as npt

from trainer.domain.player_frame import mirrored_x
from trainer.vision.body.detector import PersonDetector
from trainer.vision.body.landmarks import LandmarkModel, Landmarks
from trainer.vision.body.painted_over import painted_over
from trainer.vision.body.region import Region, RegionFollower
from trainer.vision.body.who import OVER_A_BALL, holds_a_putter, is_another, likeness

Array = npt.NDArray[Any]

# Places of the 33 points (MediaPipe pose topology, BlazePose, arXiv:2006.10204) that this project uses.
POSE_POINTS: Mapping[str, int] = {
    "nose": 0, "left_eye": 2, "right_eye": 5, "left_ear": 7, "right_ear": 8,
    "left_shoulder": 11, "right_shoulder": 12, "left_elbow": 13, "right_elbow": 14, "left_wrist": 15, "right_wrist": 16,
    "left_index": 19, "right_index": 20,
    "left_hip": 23, "right_hip": 24, "left_knee": 25, "right_knee": 26, "left_ankle": 27, "right_ankle": 28,
    "left_heel": 29, "right_heel": 30, "left_toe": 31, "right_toe": 32,
}  # fmt: skip


MOST_PEOPLE = 4
# Pictures shown to the model, about a second, after which somebody else may be the player; times so many if nobody else was seen.
LOOK_AROUND, ALONE = 20, 3


class BodyTracker(Protocol):
    """Anything that finds one person's points in a picture."""

    def find(self, image_bgr: Array) -> dict[str, Array] | None:
        """name -> (x px, y px, visibility 0..1), or None when nobody is seen."""

    def close(self) -> None:
        """Frees the model."""


class PoseModels:
    """Loaded once for any number of clips, one after the other: a tenth of a second. threads: as in ``Model``."""

    def __init__(self, threads: int = 1) -> None:
        self.detector = PersonDetector(threads)
        self._landmarks = {n: LandmarkModel(tuple(POSE_POINTS.values()), n) for n in {1, threads}}
        self.all_threads()

    def all_threads(self, use: bool = True) -> None:
        """Or one: what is found is the same. Between two frames."""
        self.landmarks = self._landmarks[max(self._landmarks) if use else 1]


class PoseBody:
    """A detector finds people, a landmark model their points; from then on the player's say where the next frame is looked at.

    The models are those of MediaPipe 0.10.21's full pose, in the package. STUDY.md: how near the points are to MediaPipe's.
    mirrored: the models are shown the mirrored picture. Their errors are not the same to both sides (a left-hander's wrists and
    elbows moved the arm-shaft angle by 2.5 deg); shown every left-hander as a right-hander they make the same ones for both.
    models: those that are loaded already, None: its own.
    """

    def __init__(self, mirrored: bool = False, models: PoseModels | None = None) -> None:
        self._mirrored = mirrored
        self._models = models or PoseModels()
        self._follower = RegionFollower()
        self._region: Region | None = None
        self._idle = 0  # pictures in a row in which who is followed did not stand over a ball
        self._alone = False

    def find(self, image_bgr: Array) -> dict[str, Array] | None:
        width = image_bgr.shape[1]
        found = self._follow(cv2.flip(image_bgr, 1) if self._mirrored else image_bgr)
        if found is None:
            return None
        points = _named(found)
        if not self._mirrored:
            return points
        for point in points.values():
            point[0] = mirrored_x(point[0], width)
        return {_other_side(name): point for name, point in points.items()}

    def _follow(self, picture: Array) -> Landmarks | None:
        if self._region is None:
            found = self._player(picture)
        elif (found := self._models.landmarks.find(picture, self._region)) is not None:
            found = self._or_another(picture, found)
        if found is None:
            self._follower.forget()
            self._region = None
        else:
            self._region = self._follower.next_region(found.next_region)
        return found

    def _player(self, picture: Array) -> Landmarks | None:
        """Of everybody in the picture who is most like a player."""
        self._idle = 0
        people: list[tuple[Landmarks, dict[str, Array]]] = []
        while len(people) < MOST_PEOPLE:
            region = self._models.detector.find(picture)
            found = None if region is None else self._models.landmarks.find(picture, region)
            if found is None:
                break
            named = _named(found)
            if any(not is_another(named, other) for _, other in people):
                break
            people.append((found, named))
            picture = painted_over(picture, named)
        self._alone = len(people) == 1
        return max(people, key=lambda person: likeness(person[1]), default=(None, {}))[0]

    def _or_another(self, picture: Array, followed: Landmarks) -> Landmarks:
        """Who is followed, or another who stands over a ball more than that one has for a while."""
        alike = likeness(_named(followed))
        self._idle = 0 if alike >= OVER_A_BALL else self._idle + 1
        if self._idle < LOOK_AROUND * (ALONE if self._alone else 1):
            return followed
        other = self._player(picture)
        points = None if other is None else _named(other)
        if other is None or points is None or not holds_a_putter(points) or likeness(points) <= alike:
            return followed
        self._follower.forget()
        return other

    def close(self) -> None:
        del self._models


def _named(found: Landmarks) -> dict[str, Array]:
    return dict(zip(POSE_POINTS, np.column_stack([found.places, found.visibility])))


def _other_side(name: str) -> str:
    """left_knee -> right_knee and the reverse; what has no side stays."""
    side, _, part = name.partition("_")
    return f"{'right' if side == 'left' else 'left'}_{part}" if side in ("left", "right") else name
