"""Posture while the player finds it: every frame measured, a tone when all is inside its range for a second.

The camera's stand is slow to read and does not change, so it is read once the player stands still, and again now and then.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any, Callable, Mapping, Sequence

import numpy as np

from trainer.coaching.player_profile import as_held
from trainer.coaching.posture.address import AddressSeen, BallMark, steady
from trainer.coaching.posture.address_measures import scale_hints, setup
from trainer.coaching.posture.hint import Hint
from trainer.coaching.posture.hints import ball_hint, people_hint, player_hints
from trainer.coaching.posture.ranges import DEFAULTS, Check, Ranges
from trainer.coaching.posture.view_detection import detect_view
from trainer.coaching.posture.words import THERE_WORD
from trainer.domain.observation import Frame, Handedness, View
from trainer.domain.record import Measure
from trainer.feedback.signs import Sign
from trainer.posture.analysis import Given, address_seen, half_hidden
from trainer.posture.guidance import PostureState, judged, main_sign
from trainer.texts import tr
from trainer.vision.ball.finder import BallFinder
from trainer.vision.body.mirrored_pose import somebody_else
from trainer.vision.body.pose import Array, BodyTracker
from trainer.vision.camera_geometry.tilt import TiltSeen

STEADY_FRAMES = 8  # medians over a quarter of a second: the pose model's frame noise is gone
STILL_LEGS = 0.02  # the hands move by less than this, in leg lengths, within those frames: about 1.5 cm
THERE_S = 1.0
MIN_JUDGED = 3  # measures that must be confident before all is called well
STAND_AGAIN_S, STAND_LOOKS = 4.0, 3  # the camera's stand is read anew so often, so many times; the surest counts
HIDDEN_BALL_EVERY_S = 0.5  # a ball that the putter may hide is looked for so often
PEOPLE_EVERY_S = 3.0  # a second person is looked for so often, here and at setup


@dataclass(frozen=True)
class PostureStep:
    """What one frame gave. state: to be shown; there: True in the frame in which the posture is reached."""

    state: PostureState
    there: bool = False


class PostureLive:
    """``step`` every frame in order.

    stand: the camera's as remembered; reference: the measures of the posture to come back to, by view.
    """

    def __init__(
        self,
        body: BodyTracker,
        given: Given | None = None,
        ranges: Ranges = DEFAULTS,
        stand: TiltSeen | None = None,
        reference: Callable[[View], Mapping[str, Measure] | None] = lambda view: None,
    ) -> None:
        self._body, self._given, self._ranges = body, given or Given(), ranges
        self._reference = reference
        self._references: dict[View, Mapping[str, Measure] | None] = {}
        self._points: deque[dict[str, Array]] = deque(maxlen=STEADY_FRAMES)
        self._ball = BallFinder()
        self._hidden: tuple[float, BallMark | None] = (-np.inf, None)
        self._stand, self._stand_at, self._stands_read = stand, -np.inf, 0
        self._people_at, self._two = -np.inf, False
        self._inside_since: float | None = None
        self._reached = False

    def step(self, frame: Frame) -> PostureStep:
        """One frame on."""
        image, size = frame.image, (frame.image.shape[1], frame.image.shape[0])
        points = self._body.find(image)
        hints = player_hints(points, size, self._given.grip)
        if points is None or hints:
            self._points.clear()
            return self._nothing(image, hints)
        self._points.append(points)
        ball = self._find_ball(frame, points)
        if len(self._points) < STEADY_FRAMES:
            return self._nothing(image, [Hint(tr("stand still at address"))])
        if not self._still():
            return self._nothing(image, [Hint(tr("hold still"), tr("numbers come when the hands are quiet"))])
        calm = steady(list(self._points))
        view, hand = self._detected(calm)
        if ball is None:
            ball = self._find_hidden(frame, calm, view)
        if self._somebody_else(frame, calm):
            return self._nothing(image, people_hint(2))
        due = self._stand_due(frame)
        seen = address_seen(calm, image, view, hand, ball, self._given.height_cm, stand=None if due else self._stand)
        if due and not self._remember(seen, frame):
            seen = address_seen(calm, image, view, hand, ball, self._given.height_cm, stand=self._stand)
        checks = tuple(setup(seen, self._ranges))
        return self._judged(frame, seen, checks)

    @property
    def stand(self) -> TiltSeen | None:
        """The surest stand of the camera seen so far."""
        return self._stand

    # ---- the parts

    def _nothing(self, image: Any, hints: Sequence[Hint]) -> PostureStep:
        self._inside_since, self._reached = None, False
        return PostureStep(PostureState(image, None, (), main_sign((), hints)))

    def _judged(self, frame: Frame, seen: AddressSeen, checks: tuple[Check, ...]) -> PostureStep:
        confident = [c for c in checks if judged(c)]
        well = seen.ball is not None and len(confident) >= MIN_JUDGED and all(c.inside for c in confident)
        if not well:
            self._inside_since, self._reached = None, False
        elif self._inside_since is None:
            self._inside_since = frame.time_s
        held = 0.0 if self._inside_since is None else frame.time_s - self._inside_since
        reached = well and held >= THERE_S and not self._reached
        self._reached = self._reached or reached
        sign = main_sign(checks, seen.notes) if seen.ball is not None else main_sign((), ball_hint(False))
        if well and held >= THERE_S:
            sign = Sign(THERE_WORD, sign.detail, "good")
        elif well:
            sign = Sign(tr("Hold it"), sign.detail, "good")
        notes = tuple(map(str, (*seen.notes, *scale_hints(seen))))
        if seen.view not in self._references:
            self._references[seen.view] = self._reference(seen.view)
        reference = self._references[seen.view]
        state = PostureState(frame.image, seen, checks, sign, min(1.0, held / THERE_S), notes, reference=reference)
        return PostureStep(state, reached)

    def _still(self) -> bool:
        first = self._points[0]
        leg = float(np.linalg.norm(first["left_hip"][:2] - first["left_ankle"][:2]))
        hands = np.array([(p["left_wrist"][:2] + p["right_wrist"][:2]) / 2 for p in self._points])
        return float(np.ptp(hands, axis=0).max()) < max(STILL_LEGS * leg, 1.5)

    def _detected(self, points: dict[str, Array]) -> tuple[View, Handedness]:
        given = self._given
        found = as_held(detect_view(points), given.grip) if given.view is None or given.handedness is None else None
        view = given.view or (found.view if found is not None else "face-on")
        return view, given.hand(found)

    def _find_ball(self, frame: Frame, points: dict[str, Array]) -> BallMark | None:
        body = {name: (float(p[0]), float(p[1]), float(p[2])) for name, p in points.items()}
        x, y = (points["left_wrist"][:2] + points["right_wrist"][:2]) / 2
        found = self._ball.update(frame.image, frame.time_s, (float(x), float(y)), body, None)
        if found is None or not found.at_rest:
            return None
        return BallMark(found.x, found.y, found.diameter_px, found.confidence)

    def _find_hidden(self, frame: Frame, points: dict[str, Array], view: View) -> BallMark | None:
        at, ball = self._hidden
        if frame.time_s - at >= HIDDEN_BALL_EVERY_S:
            ball = half_hidden(points, frame.image, view)
            self._hidden = (frame.time_s, ball)
        return ball

    def _somebody_else(self, frame: Frame, points: dict[str, Array]) -> bool:
        """Whether there is another person, looked for now and then; the tracker then has to find the player anew."""
        if frame.time_s - self._people_at >= PEOPLE_EVERY_S:
            self._people_at = frame.time_s
            self._two = somebody_else(self._body, frame.image, points)
            self._body.find(np.zeros_like(frame.image))
        return self._two

    def _stand_due(self, frame: Frame) -> bool:
        """Whether it is time to read the camera's stand from this frame."""
        return self._stands_read < STAND_LOOKS and frame.time_s - self._stand_at >= STAND_AGAIN_S

    def _remember(self, seen: AddressSeen, frame: Frame) -> bool:
        """Takes the stand just read when it is surer than the one known; False when it is not."""
        self._stand_at = frame.time_s
        self._stands_read += 1
        new = TiltSeen(seen.camera, seen.tilt_confidence, seen.azimuth_confidence, 0.0)
        before = self._stand
        if (
            before is not None
            and new.confidence + new.azimuth_confidence <= before.confidence + before.azimuth_confidence
        ):
            return False
        self._stand = new
        return True
