"""Observes camera and player until all is right: facts from every frame, steady findings, sounds, an end by itself."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from trainer.camera_setup.findings import Finding
from trainer.camera_setup.setup_findings import SetupFacts, setup_findings
from trainer.coaching.player_profile import as_held
from trainer.coaching.posture import down_the_line, face_on
from trainer.coaching.posture.address import AddressSeen, BallMark, steady
from trainer.coaching.posture.address_measures import scale_reference
from trainer.coaching.posture.body_model import BALL_RADIUS_CM, FACE_ON_LEG_PER_HEIGHT, USUAL_HEIGHT_CM
from trainer.coaching.posture.hints import people_hint, player_hints
from trainer.coaching.posture.scale_reference import BY_WORDS
from trainer.coaching.posture.view_detection import detect_view
from trainer.domain.observation import Frame, Handedness, View
from trainer.domain.perspective import CameraView, focal_px
from trainer.domain.player_frame import Grip
from trainer.feedback.cues import ALL_SET, STEP_DONE
from trainer.posture.analysis import address_seen, half_hidden
from trainer.posture.live_posture import PEOPLE_EVERY_S
from trainer.texts import tr
from trainer.vision.ball.finder import BallFinder
from trainer.vision.body.mirrored_pose import somebody_else
from trainer.vision.body.points import MIN_VISIBILITY, leg_length_px
from trainer.vision.body.pose import Array, BodyTracker
from trainer.vision.camera_geometry.tilt import TiltSeen
from trainer.vision.camera_shake import ShakeWatch
from trainer.vision.head.tracker import HeadTracker
from trainer.vision.light import light_of
from trainer.vision.putter.tracker import PutterTracker

WELL_S = 2.0  # all well for so long, and it ends
SETTLES_S = 0.4  # a finding's new state counts once it has lasted
STEADY_FRAMES = 10
STAND_AGAIN_S = 2.5  # the camera's stand is read anew so often: it is being moved about
LOOK_AGAIN_S = 0.5  # light and blur
ANKLE_CM = 8.0  # joint above the ground (rendered 7.3 +- 0.6, marked a little higher)
MIN_STAMPS = 15
TICK_S = 0.5  # between two tones at least
WELL = ("ok", "warning")


@dataclass(frozen=True)
class SetupOptions:
    """What the user said of player and camera; view, handedness: None to have them proposed.

    level: the camera was set level by hand, which is believed rather than what the picture shows.
    """

    view: View | None = None
    handedness: Handedness | None = None
    height_cm: float | None = None
    fps: float = 30.0
    tape_colour: str = "auto"
    level: bool = False
    grip: Grip = "trail hand low"


@dataclass(frozen=True)
class SetupStep:
    """What one frame gave. image: (h, w, 3) uint8 BGR; share: how long all has been well, 0..1; sound: to play or None."""

    image: Any
    findings: tuple[Finding, ...]
    share: float = 0.0
    done: bool = False
    sound: str | None = None
    facts: SetupFacts = field(default_factory=SetupFacts)


class SetupObserver:
    """``step`` every frame in order."""

    def __init__(self, body: BodyTracker, options: SetupOptions | None = None) -> None:
        options = options or SetupOptions()
        self._body, self._height_cm, self._grip = body, options.height_cm, options.grip
        self._facts = SetupFacts(
            asked_fps=options.fps,
            given_view=options.view,
            given_handedness=options.handedness,
            player_height_known=options.height_cm is not None,
        )
        self._poses: deque[dict[str, Array]] = deque(maxlen=STEADY_FRAMES)
        self._times_s: deque[float] = deque(maxlen=60)
        self._shake = ShakeWatch()
        self._head = HeadTracker(mirrored=options.handedness == "left")
        self._ball, self._putter = BallFinder(), PutterTracker("auto", options.tape_colour)
        self._level = options.level
        self._stand: TiltSeen | None = None
        self._stand_at = self._looked_at = self._tick_at = -np.inf
        # name -> shown, newest, since when the newest state
        self._shown: dict[str, tuple[Finding, Finding, float]] = {}
        self._well_once: set[str] = set()
        self._well_since: float | None = None
        self._people_at, self._two_people = -np.inf, False

    @property
    def stand(self) -> TiltSeen | None:
        """The camera's stand as last read."""
        return self._stand

    def step(self, frame: Frame) -> SetupStep:
        """One frame on."""
        self._times_s.append(frame.time_s)
        facts = replace(self._facts, fps=self._fps(), shake_line=self._shake.see(frame.image, frame.time_s).line)
        points = self._body.find(frame.image)
        size = (frame.image.shape[1], frame.image.shape[0])
        hints = tuple(player_hints(points, size, self._grip))
        if frame.time_s - self._looked_at >= LOOK_AGAIN_S:
            self._looked_at = frame.time_s
            bright, white, edge = _light_and_blur(frame.image, points)
            line = light_of(frame.image, _tuples(points) if points is not None else None).line
            facts = replace(facts, brightness=bright, white_share=white, light_line=line, edge_px=edge)
        facts = replace(facts, hints=hints)
        if points is not None and not hints and frame.time_s - self._people_at >= PEOPLE_EVERY_S:
            self._people_at = frame.time_s
            self._two_people = somebody_else(self._body, frame.image, points)
            self._body.find(np.zeros_like(frame.image))  # the tracker has to find the player anew
        if not hints and self._two_people:
            hints = tuple(people_hint(2))
            facts = replace(facts, hints=hints)
        if points is None or hints:
            self._poses.clear()
            self._head.reset()
            facts = replace(
                facts, head_sure=None, ball=False, putter=None, scale=None, scale_note="", scales_apart=None
            )
            if points is not None:
                facts = replace(facts, distance_cm=self._rough_distance(points, size))
        else:
            self._poses.append(points)
            facts = self._at_address(facts, frame, points)
        self._facts = facts
        return self._judged(frame, facts)

    # ---- the facts

    def _fps(self) -> float | None:
        if len(self._times_s) < MIN_STAMPS:
            return None
        fps = (len(self._times_s) - 1) / max(self._times_s[-1] - self._times_s[0], 1e-6)
        return float(round(fps))  # a number that changes with every frame cannot be read

    def _rough_distance(self, points: dict[str, Array], size: tuple[int, int]) -> float | None:
        leg = leg_length_px(_tuples(points))
        tall = self._height_cm or USUAL_HEIGHT_CM
        return None if leg is None else focal_px(size[1]) * FACE_ON_LEG_PER_HEIGHT * tall / leg

    def _at_address(self, facts: SetupFacts, frame: Frame, points: dict[str, Array]) -> SetupFacts:
        calm = steady(list(self._poses))
        found = as_held(detect_view(calm), self._grip)
        facts = replace(facts, detected=found)
        hand = facts.given_handedness or (found.handedness if found is not None else "right")
        hands = (calm["left_wrist"][:2] + calm["right_wrist"][:2]) / 2
        body = _tuples(points)
        spot = self._ball.update(frame.image, frame.time_s, (float(hands[0]), float(hands[1])), body, None)
        putter = self._putter.update(frame.image, frame.time_s, (float(hands[0]), float(hands[1])), body, spot)
        ball = None if spot is None else BallMark(spot.x, spot.y, spot.diameter_px, spot.confidence)
        if ball is None:
            ball = half_hidden(calm, frame.image, facts.view)
        facts = replace(facts, ball=ball is not None, putter=putter.source if putter is not None else None)
        if facts.view == "face-on":
            seen_points = {n: p for n, p in points.items() if p[2] >= MIN_VISIBILITY}
            head = self._head.update(frame.image, frame.time_s, seen_points)
            if head is not None:
                facts = replace(facts, head_sure=head.confidence, head_hard=self._head.hard)
        if len(self._poses) < STEADY_FRAMES:
            return facts
        if self._level and (self._stand is None or self._stand.camera.view != facts.view):
            columns, rows = frame.image.shape[1], frame.image.shape[0]
            straight = CameraView(focal_px(rows), (columns / 2, rows / 2), facts.view)
            self._stand = TiltSeen(straight, 1.0, 0.0, 0.0)
        due = not self._level and (self._stand is None or frame.time_s - self._stand_at >= STAND_AGAIN_S)
        known = None if due else self._stand
        seen = address_seen(calm, frame.image, facts.view, hand, ball, self._height_cm, stand=known)
        if due:
            self._stand_at = frame.time_s
            self._stand = TiltSeen(seen.camera, seen.tilt_confidence, seen.azimuth_confidence, 0.0)
        return self._measured(facts, seen)

    def _measured(self, facts: SetupFacts, seen: AddressSeen) -> SetupFacts:
        found = scale_reference(seen)
        if found is None:
            return replace(facts, scale=None, scale_note="", scales_apart=None)
        if seen.view == "face-on":
            scene = face_on.scene(seen)
            assert scene is not None  # a scale reference needs a ball here
            height = BALL_RADIUS_CM - float(scene.up @ scene.ball)
            distance = found.distance_cm + scene.behind_cm
        else:
            side = down_the_line.side_on(seen)
            height = ANKLE_CM - float(side.points["trail_ankle"][1])
            distance = found.distance_cm
        per_px, side_on = distance / seen.camera.focal_px, seen.view == "down-the-line"
        ankles = [m.x for side_ in ("lead", "trail") if (m := seen.points.get(f"{side_}_ankle")) is not None]
        room = (min(ankles) * per_px, (seen.size[0] - max(ankles)) * per_px)
        return replace(
            facts,
            distance_cm=distance,
            height_cm=height,
            roll_deg=seen.camera.roll_deg if seen.handedness == "right" else -seen.camera.roll_deg,
            azimuth_deg=seen.camera.azimuth_deg,
            tilt_confidence=seen.tilt_confidence,
            azimuth_confidence=seen.azimuth_confidence,
            room_cm=room if seen.handedness == "right" else (room[1], room[0]),
            scale=tr("{mm:.1f} mm a pixel {by}", mm=10 * per_px, by=BY_WORDS[found.source]),
            scale_note="" if side_on and facts.player_height_known else found.note,
            scales_apart=None if side_on or found.ball_to_height is None else abs(found.ball_to_height - 1),
        )

    # ---- findings that do not flicker, sounds, the end

    def _judged(self, frame: Frame, facts: SetupFacts) -> SetupStep:
        now_s = frame.time_s
        newest_findings = setup_findings(facts)
        for finding in newest_findings:
            shown, newest, since = self._shown.get(finding.name, (finding, finding, now_s))
            if finding.state != newest.state:
                since = now_s
            if finding.state == shown.state or now_s - since >= SETTLES_S:
                shown = finding
            self._shown[finding.name] = (shown, finding, since)
        current = tuple(self._shown[finding.name][0] for finding in newest_findings)
        well = all(finding.state in WELL for finding in current)
        if not well:
            self._well_since = None
        elif self._well_since is None:
            self._well_since = now_s
        lasted = 0.0 if self._well_since is None else now_s - self._well_since
        done = well and lasted >= WELL_S
        sound = self._sound(now_s, current, done)
        return SetupStep(frame.image, current, min(1.0, lasted / WELL_S), done, sound, facts)

    def _sound(self, now_s: float, current: tuple[Finding, ...], done: bool) -> str | None:
        """A tick when what needed the player has become well for the first time; three bells at the end."""
        if done:
            return ALL_SET
        fresh = {finding.name for finding in current if finding.state in WELL} - self._well_once
        if not fresh or now_s - self._tick_at < TICK_S:
            return None
        self._well_once |= fresh
        self._tick_at = now_s
        return STEP_DONE


def _tuples(points: dict[str, Array]) -> dict[str, tuple[float, float, float]]:
    return {name: (float(p[0]), float(p[1]), float(p[2])) for name, p in points.items()}


def _light_and_blur(image: Any, points: dict[str, Array] | None) -> tuple[float, float, float]:
    """Brightness (mean of 255), share of pure white, width of the sharpest edges (px at 480 rows), around the player if seen."""
    import cv2

    grey = cv2.cvtColor(image, cv2.COLOR_BGR2GRAY)
    rows, columns = grey.shape
    part = grey
    if points is not None:
        places = np.array([p[:2] for p in points.values()])
        x0, y0 = np.clip(places.min(axis=0) - 30, 0, [columns - 1, rows - 1]).astype(int)
        x1, y1 = np.clip(places.max(axis=0) + 30, 1, [columns, rows]).astype(int)
        if x1 - x0 > 20 and y1 - y0 > 20:
            part = grey[y0:y1, x0:x1]
    return float(part.mean()), float((part >= 250).mean()), edge_width_px(part) * 480.0 / rows


def edge_width_px(grey: Any) -> float:
    """How many pixels the sharpest edges take from dark to light: the range around each over its steepest slope."""
    import cv2

    calm = cv2.GaussianBlur(grey, (0, 0), 1.0).astype(np.float32)
    slope = np.hypot(cv2.Sobel(calm, cv2.CV_32F, 1, 0), cv2.Sobel(calm, cv2.CV_32F, 0, 1)) / 8.0
    near = np.ones((15, 15), np.uint8)
    span = cv2.dilate(calm, near) - cv2.erode(calm, near)
    steepest = slope >= np.percentile(slope, 99.5)
    return float(np.median(span[steepest] / np.maximum(slope[steepest], 1e-3)))
