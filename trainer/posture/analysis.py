"""From a picture of a player at address to what the measures of posture start from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from trainer.coaching.player_profile import as_held
from trainer.coaching.posture import face_on
from trainer.coaching.posture.address import AddressSeen, BallMark, mirrored, mirrored_ball
from trainer.coaching.posture.address_measures import MIN_STAND_CONFIDENCE
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.hints import ball_hint, people_hint, player_hints
from trainer.coaching.posture.view_detection import DetectedView, detect_view
from trainer.domain.naming import hand_words, view_words
from trainer.domain.observation import Frame, Handedness, Observation, View
from trainer.domain.perspective import CameraView, focal_px
from trainer.domain.player_frame import Grip
from trainer.texts import tr
from trainer.vision.body.mirrored_pose import mirrored_pose, somebody_else
from trainer.vision.body.pose import Array, BodyTracker
from trainer.vision.camera_geometry.tilt import TiltSeen, camera_stand

CONTRADICTS = 0.6  # confidence of what is detected, from which it is held against what the user said
LOOKS_FOR_BALL, LOOK_APART_S = 12, 0.1  # a photo is shown to the finder of the ball as if it were a still clip


@dataclass(frozen=True, slots=True)
class Given:
    """What the user said of camera and player; None: view and handedness are detected, the height is not known."""

    view: View | None = None
    handedness: Handedness | None = None
    height_cm: float | None = None
    grip: Grip = "trail hand low"

    def hand(self, found: DetectedView | None) -> Handedness:
        """As it was said, else as the picture shows it."""
        return self.handedness or (found.handedness if found is not None else "right")


@dataclass(frozen=True)
class Looked:
    """One picture looked at. seen: None when there can be no numbers; hints: what is wrong.

    points: the pose model's, in the picture as it is; detected: the view and the hand proposed.
    """

    seen: AddressSeen | None
    hints: tuple[Hint, ...]
    points: dict[str, Array] | None = None
    detected: DetectedView | None = None
    ball: BallMark | None = None


def ball_of(observation: Observation) -> BallMark | None:
    """The ball of an observation, in the picture as it is."""
    if observation.ball is None:
        return None
    centre = observation.ball.centre
    x, y = observation.frame.to_picture(centre)
    return BallMark(x, y, observation.ball.diameter_px, centre.confidence)


def look(
    body: BodyTracker,
    image_bgr: Any,
    given: Given = Given(),
    ball: BallMark | None = None,
    find_ball: bool = False,
    others: bool = False,
) -> Looked:
    """Everything that one picture shows.

    body: a tracker that need not go on following other frames; find_ball: look for the ball too; without one
    only what needs none is given;
    others: look for a second person too.
    """
    size = (image_bgr.shape[1], image_bgr.shape[0])
    points = mirrored_pose(body, image_bgr)
    hints = player_hints(points, size, given.grip)
    if points is None or hints:
        return Looked(None, tuple(hints), points)
    if others and somebody_else(body, image_bgr, points):
        return Looked(None, tuple(people_hint(2)), points)
    found = as_held(detect_view(points), given.grip)
    contradictions = _contradictions(found, given)
    view = given.view or (found.view if found is not None else "face-on")
    handedness = given.hand(found)
    if ball is None:
        ball = (
            ball_in_picture(points, image_bgr, view, handedness) if find_ball else half_hidden(points, image_bgr, view)
        )
    seen = address_seen(points, image_bgr, view, handedness, ball, given.height_cm)
    return Looked(seen, (*contradictions, *seen.notes), points, found, ball)


def _contradictions(found: DetectedView | None, given: Given) -> tuple[Hint, ...]:
    """Where the picture clearly shows something else than the user said."""
    view, handedness = given.view, given.handedness
    if found is None:
        return ()
    if view is not None and found.view != view and found.view_confidence > CONTRADICTS:
        return (Hint(tr("this looks {view}", view=view_words(found.view)), tr("is the view right?")),)
    if handedness is not None and found.handedness != handedness and found.handedness_confidence > CONTRADICTS:
        right = tr("is the handedness right, or is the lead hand the lower one (player.grip)?")
        return (Hint(tr("this looks {hand}", hand=hand_words(found.handedness)), right),)
    return ()


def address_seen(
    points: dict[str, Array],
    image_bgr: Any,
    view: View,
    handedness: Handedness,
    ball: BallMark | None,
    height_cm: float | None,
    stand: TiltSeen | None = None,
) -> AddressSeen:
    """The address in one picture of a player whose points are known. stand: the camera's if it is known already."""
    size = (image_bgr.shape[1], image_bgr.shape[0])
    marks = mirrored(points, size[0], handedness)
    turned = mirrored_ball(ball, size[0], handedness)
    level = CameraView(focal_px(size[1]), (size[0] / 2, size[1] / 2), view)
    seen = AddressSeen(view, size, marks, level, turned, height_cm, handedness=handedness)
    if stand is None:
        picture = image_bgr if handedness == "right" else np.ascontiguousarray(image_bgr[:, ::-1])
        unlikely = face_on.unlikely(seen) if view == "face-on" and turned is not None else None
        at = None if turned is None else (turned.x, turned.y)
        stand = camera_stand(picture, view, marks, at, unlikely=unlikely)
    notes = list(ball_hint(ball is not None))
    if stand is None or stand.confidence < MIN_STAND_CONFIDENCE:
        notes.append(Hint(tr("no straight edges seen"), tr("the camera is taken to stand level")))
    if stand is None or stand.azimuth_confidence < MIN_STAND_CONFIDENCE:
        notes.append(
            Hint(tr("nothing straight along the target line seen"), tr("lay a board or a club along it by the ball"))
        )
    if stand is not None:
        seen = replace(
            seen, camera=stand.camera, tilt_confidence=stand.confidence, azimuth_confidence=stand.azimuth_confidence
        )
    return replace(seen, notes=tuple(notes))


class _Still:
    """A body tracker that always gives the same points."""

    def __init__(self, points: dict[str, Array]) -> None:
        self._points = points

    def find(self, image_bgr: Array) -> dict[str, Array] | None:
        return self._points

    def close(self) -> None:
        """Nothing to free."""


def ball_in_picture(points: dict[str, Array], image_bgr: Any, view: View, handedness: Handedness) -> BallMark | None:
    """The ball of one still picture, found as in a clip whose player stands still, or half hidden down the line."""
    from trainer.vision.observer import Observer, ObserverOptions

    observer = Observer(_Still(points), ObserverOptions(handedness=handedness, view=view))
    observation = None
    for k in range(LOOKS_FOR_BALL):
        observation = observer.look(Frame(k, k * LOOK_APART_S, image_bgr), points)
    ball = None if observation is None else ball_of(observation)
    return half_hidden(points, image_bgr, view) if ball is None else ball


def half_hidden(points: dict[str, Array], image_bgr: Any, view: View) -> BallMark | None:
    """The ball that the putter half hides down the line; None face-on, where it does not."""
    if view != "down-the-line":
        return None
    from trainer.vision.ball.occluded_ball import ball_behind_putter

    found = ball_behind_putter(image_bgr, {name: tuple(point) for name, point in points.items()})
    return None if found is None else BallMark(found.x, found.y, found.diameter_px, found.confidence)
