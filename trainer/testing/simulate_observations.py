"""Invented strokes as vision would report them: places in pixels with noise, drop-outs and dropped frames."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from trainer.domain.observation import BallObservation, HeadObservation, Observation, PutterObservation, Scale
from trainer.domain.player_frame import Point
from trainer.domain.record import Floats
from trainer.testing.simulate import RADIUS_CM, SHOULDER_TO_GRIP_CM, Scene, SimStroke, putter_head_cm
from trainer.testing.simulate_moves import SimStep

CM_PER_PX = 0.41  # a whole player in a picture of 640 x 480
BEYOND = 1.06  # the body's plane is farther away than the ball's by this
SHOULDERS_CM, HIPS_CM, STANCE_CM = 36.0, 30.0, 36.0
UPPER_ARM_CM, FOREARM_CM = 31.0, 29.0
HIP_UP_CM, KNEE_UP_CM, ANKLE_UP_CM = 88.0, 48.0, 10.0
ROCK = 1.1  # the shoulders turn with the arms by this much


@dataclass(frozen=True, slots=True)
class Noise:
    """Errors of vision, standard deviations in px or deg, white from frame to frame unless said otherwise.

    The defaults are about one and a half times what our own vision showed on rendered truth at 640 x 480, where it gave
    putter 0.1 (white) and 0.3 px (slow), shaft 0.06 and 0.2 deg, wrists 0.3, elbow 0.3, shoulders 0.2 px, turn 0.3 (white)
    and 0.5 deg (slow). follow_px: how far wrist and elbow err at the top of the stroke, in step with it. turn_gain: share
    of the true turn that is seen, drawn once a scene. misses: share of frames without putter; gone: frames lost.
    """

    putter_px: float = 0.15
    putter_slow_px: float = 0.4
    shaft_deg: float = 0.15
    shaft_slow_deg: float = 0.3
    joint_px: float = 0.45
    follow_px: float = 2.0
    turn_deg: float = 0.5
    turn_slow_deg: float = 0.7
    turn_gain: tuple[float, float] = (0.85, 1.1)
    head_px: float = 0.1
    ball_px: float = 0.1
    misses: float = 0.01
    gone: float = 0.01
    jitter_s: float = 0.001
    putter_seen: bool = True
    conf: float = 0.93

    def times(self, factor: float) -> Noise:
        """All errors of place and angle, factor times as large."""
        names = ("putter_px", "putter_slow_px", "shaft_deg", "shaft_slow_deg", "joint_px", "follow_px", "turn_deg")
        more = {n: getattr(self, n) * factor for n in (*names, "turn_slow_deg", "head_px", "ball_px")}
        others = ("turn_gain", "misses", "gone", "jitter_s", "putter_seen", "conf")
        return Noise(**more, **{n: getattr(self, n) for n in others})


EXACT = Noise(0, 0, 0, 0, 0, 0, 0, 0, (1.0, 1.0), 0, 0, 0, 0, 0)


class _Errors:
    """Draws errors at the frames' times; the slow ones keep for a third of a second."""

    def __init__(self, t: Floats, rng: np.random.Generator) -> None:
        self._t, self._rng = t, rng

    def white(self, size: float) -> Floats:
        return np.asarray(self._rng.normal(0, 1, len(self._t)) * size)

    def slow(self, size: float) -> Floats:
        knots = np.arange(self._t[0] - 1, self._t[-1] + 1, 0.33)
        return np.asarray(np.interp(self._t, knots, self._rng.normal(0, 1, len(knots))) * size)


def frame_times(
    lasts_s: float, fps: float, noise: Noise, rng: np.random.Generator
) -> tuple[npt.NDArray[np.int64], Floats]:
    """Numbers and times of the frames that arrive, in order."""
    n = int(lasts_s * fps)
    t: Floats = np.arange(n) / fps + np.clip(rng.normal(0, noise.jitter_s, n), -0.3 / fps, 0.3 / fps)
    arrives = rng.random(n) >= noise.gone
    return np.arange(n)[arrives], t[arrives]


class Moves(Protocol):
    """Motion of the figure at times (n,): ``simulate.Scene``, or whatever moves like it."""

    @property
    def lasts_s(self) -> float: ...
    @property
    def steps(self) -> tuple[SimStep, ...]: ...
    @property
    def strokes(self) -> tuple[SimStroke, ...]: ...
    def hands_deg(self, t: Floats) -> Floats: ...
    def shaft_deg(self, t: Floats) -> Floats: ...
    def turned_deg(self, t: Floats) -> Floats: ...
    def body_cm(self, t: Floats) -> tuple[Floats, Floats]: ...
    def head_shift_cm(self, t: Floats) -> tuple[Floats, Floats]: ...


def observations(
    scene: Scene, fps: float = 30.0, noise: Noise | None = None, rng: np.random.Generator | None = None
) -> list[Observation]:
    """The whole scene, frame by frame."""
    return figure(scene, fps, noise or Noise(), rng or np.random.default_rng(scene.seed))


def figure(scene: Moves, fps: float, noise: Noise, rng: np.random.Generator) -> list[Observation]:
    """The same of anything that moves."""
    index, t = frame_times(scene.lasts_s, fps, noise, rng)
    errors = _Errors(t, rng)
    body = _body(scene, t, noise, errors)
    head = _head(scene, t, noise, errors, rng)
    putter = _putter(scene, t, noise, errors, rng)
    ball = _ball(scene, t, noise, errors, rng)
    scale = Scale(CM_PER_PX, CM_PER_PX * BEYOND, STANCE_CM / CM_PER_PX / BEYOND, "ball")
    return [
        Observation(int(index[k]), float(t[k]), {n: p[k] for n, p in body.items()}, head[k], putter[k], ball[k], scale)
        for k in range(len(t))
    ]


def _points(along_px: Floats, up_px: Floats, conf: float) -> list[Point]:
    return [Point(float(a), float(u), conf) for a, u in zip(along_px, up_px, strict=True)]


def _rotated(centre: tuple[Floats, Floats], reach_cm: float, deg: Floats) -> tuple[Floats, Floats]:
    """The end of a line of this length that points straight to the target's side at 0 deg."""
    return centre[0] + reach_cm * np.cos(np.radians(deg)), centre[1] + reach_cm * np.sin(np.radians(deg))


def _elbow(shoulder: tuple[Floats, Floats], wrist: tuple[Floats, Floats], out: float) -> tuple[Floats, Floats]:
    """Where the elbow is, bent outward to the side ``out``; the arm seen foreshortened when it is bent toward the camera."""
    dx, dy = wrist[0] - shoulder[0], wrist[1] - shoulder[1]
    span = np.hypot(dx, dy)
    along = (UPPER_ARM_CM**2 - FOREARM_CM**2 + span**2) / (2 * span)
    bend = np.sqrt(np.clip(UPPER_ARM_CM**2 - along**2, 0, None)) * 0.5
    return shoulder[0] + (along * dx + out * bend * -dy) / span, shoulder[1] + (along * dy + out * bend * dx) / span


def _body(scene: Moves, t: Floats, noise: Noise, errors: _Errors) -> dict[str, list[Point]]:
    moved, raised = scene.body_cm(t)
    hands = scene.hands_deg(t)
    lag = noise.follow_px * hands / 12.0
    neck = (moved, raised + RADIUS_CM)
    grip = (
        moved + SHOULDER_TO_GRIP_CM * np.sin(np.radians(hands)),
        raised + RADIUS_CM - SHOULDER_TO_GRIP_CM * np.cos(np.radians(hands)),
    )
    places: dict[str, tuple[Floats, Floats]] = {}
    joints = (("hip", HIPS_CM, HIP_UP_CM), ("knee", 33.0, KNEE_UP_CM), ("ankle", STANCE_CM, ANKLE_UP_CM))
    for side, sign in (("lead", 1.0), ("trail", -1.0)):
        shoulder = _rotated(neck, sign * SHOULDERS_CM / 2, ROCK * hands)
        wrist = _rotated(grip, sign * 3.0, hands)
        wrist = (wrist[0], wrist[1] + 4.0)
        places[f"{side}_shoulder"], places[f"{side}_wrist"] = shoulder, wrist
        places[f"{side}_elbow"] = _elbow(shoulder, wrist, sign)
        for joint, wide, high in joints:
            sway = moved if joint == "hip" else 0.5 * moved if joint == "knee" else sum(s.along(t) for s in scene.steps)
            places[f"{side}_{joint}"] = (sway + sign * wide / 2 + 0 * t, high + 0 * t)
    px = CM_PER_PX * BEYOND
    points = {}
    for name, (along, up) in places.items():
        follow = lag * name.endswith(("wrist", "elbow"))
        points[name] = _points(
            along / px + follow + errors.white(noise.joint_px), up / px + errors.white(noise.joint_px), noise.conf
        )
    return points


def _head(
    scene: Moves, t: Floats, noise: Noise, errors: _Errors, rng: np.random.Generator
) -> list[HeadObservation | None]:
    moved, raised = scene.body_cm(t)
    along, up = scene.head_shift_cm(t)
    seen = scene.turned_deg(t) * rng.uniform(*noise.turn_gain)
    turn = seen + errors.white(noise.turn_deg) + errors.slow(noise.turn_slow_deg)
    px = CM_PER_PX * BEYOND
    centre = _points(
        (moved + along) / px + errors.white(noise.head_px),
        (raised + up + RADIUS_CM + 22.0) / px + errors.white(noise.head_px),
        noise.conf,
    )
    return [HeadObservation(float(turn[k]), noise.conf, centre[k]) for k in range(len(t))]


def _putter(
    scene: Moves, t: Floats, noise: Noise, errors: _Errors, rng: np.random.Generator
) -> list[PutterObservation | None]:
    if not noise.putter_seen:
        return [None] * len(t)
    moved, raised = scene.body_cm(t)
    hands, extra = scene.hands_deg(t), scene.shaft_deg(t)
    along, up = putter_head_cm(hands, extra)
    shaft = hands + extra + errors.white(noise.shaft_deg) + errors.slow(noise.shaft_slow_deg)
    head = _points(
        (moved + along) / CM_PER_PX + errors.white(noise.putter_px) + errors.slow(noise.putter_slow_px),
        (raised + up) / CM_PER_PX + errors.white(noise.putter_px) + errors.slow(noise.putter_slow_px),
        noise.conf,
    )
    grip = _points(
        (moved + SHOULDER_TO_GRIP_CM * np.sin(np.radians(hands))) / CM_PER_PX,
        (raised + RADIUS_CM - SHOULDER_TO_GRIP_CM * np.cos(np.radians(hands))) / CM_PER_PX,
        noise.conf,
    )
    missed = rng.random(len(t)) < noise.misses
    return [
        None if missed[k] else PutterObservation(grip[k], head[k], float(shaft[k]), noise.conf, "tape")
        for k in range(len(t))
    ]


def _ball(
    scene: Moves, t: Floats, noise: Noise, errors: _Errors, rng: np.random.Generator
) -> list[BallObservation | None]:
    """A ball lies by the putter head for each ball stroke until its impact; rolling, it is seen no more after 0.3 s."""
    out: list[BallObservation | None] = [None] * len(t)
    along_px, up_px = errors.white(noise.ball_px), errors.white(noise.ball_px)
    placed: float = 0.0
    for stroke in scene.strokes:
        if stroke.kind != "ball":
            continue
        rolled = np.clip(t - stroke.impact_s, 0, None) * 1.2 * np.radians(stroke.impact_deg_s) * RADIUS_CM
        for k in np.flatnonzero((t >= placed) & (t < stroke.impact_s + 0.3)):
            if rng.random() < 0.95:
                place = Point((3.4 + rolled[k]) / CM_PER_PX + along_px[k], 2.0 / CM_PER_PX + up_px[k], 0.9)
                out[k] = BallObservation(place, 4.267 / CM_PER_PX)
        placed = (stroke.back_at_s or stroke.finish_s) + 0.5
    return out
