"""No picture, however small or odd, and no player, however near the edge, ends in an error: not seen is None."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass
from typing import Iterator

import cv2
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from trainer.domain.observation import View
from trainer.vision.ball.circle_fit import fit_circle
from trainer.vision.ball.finder import BallFinder, BallSeenImage
from trainer.vision.ball.occluded_ball import ball_behind_putter
from trainer.vision.body.pose import POSE_POINTS
from trainer.vision.camera_geometry.tilt import camera_stand
from trainer.vision.head.outline import place_twice
from trainer.vision.head.tracker import HeadTracker
from trainer.vision.putter.shaft_geometry import Ray
from trainer.vision.putter.tape import learn_tape
from trainer.vision.putter.tracker import PutterTracker

MANY = settings(max_examples=int(os.environ.get("PUTTING_EXAMPLES", "40")), deadline=None)
FPS = 30.0
# A player at address, in shares of his height, from the top of the head; x from the middle.
STANDING = {
    "nose": (0.02, 0.14), "left_eye": (0.03, 0.12), "right_eye": (0.0, 0.12), "left_ear": (0.05, 0.10),
    "right_ear": (-0.03, 0.10), "left_shoulder": (0.11, 0.22), "right_shoulder": (-0.11, 0.22), "left_elbow": (0.12, 0.4),
    "right_elbow": (-0.1, 0.4), "left_wrist": (0.02, 0.52), "right_wrist": (-0.02, 0.54), "left_index": (0.02, 0.55),
    "right_index": (-0.02, 0.57), "left_hip": (0.08, 0.5), "right_hip": (-0.08, 0.5), "left_knee": (0.1, 0.72),
    "right_knee": (-0.1, 0.72), "left_ankle": (0.1, 0.95), "right_ankle": (-0.1, 0.95), "left_heel": (0.1, 0.97),
    "right_heel": (-0.1, 0.97), "left_toe": (0.13, 1.0), "right_toe": (-0.13, 1.0),
}  # fmt: skip

Body = dict[str, tuple[float, float, float]]


@st.composite
def pictures(draw: st.DrawFn) -> np.ndarray:
    """Flat, noisy, blotched or striped, from 1 px up."""
    height, width = draw(st.integers(1, 160)), draw(st.integers(1, 160))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    grain = draw(st.sampled_from([1, 2, 5, 15]))
    coarse = rng.integers(0, 256, (-(-height // grain), -(-width // grain), 3), dtype=np.uint8)
    image = np.repeat(np.repeat(coarse, grain, axis=0), grain, axis=1)[:height, :width]
    if draw(st.booleans()):
        image = np.full_like(image, 90)
    for _ in range(draw(st.integers(0, 3))):
        at = int(rng.integers(-5, width + 5)), int(rng.integers(-5, height + 5))
        cv2.circle(image, at, int(rng.integers(1, 12)), (250, 250, 250), -1)
    for _ in range(draw(st.integers(0, 3))):
        ends = [(int(rng.integers(-5, width + 5)), int(rng.integers(-5, height + 5))) for _ in range(2)]
        cv2.line(image, ends[0], ends[1], tuple(int(v) for v in rng.integers(0, 256, 3)), int(rng.integers(1, 4)))
    return np.ascontiguousarray(image)


@st.composite
def players(draw: st.DrawFn, image: np.ndarray) -> Body:
    """Anywhere in the picture, over its edge or beside it, from a point to several pictures tall, some joints unseen."""
    height, width = image.shape[:2]
    tall = draw(st.one_of(st.just(0.0), st.floats(0.05, 4.0))) * height
    wide = draw(st.one_of(st.just(0.0), st.just(1.0), st.floats(0.01, 1.5))) * tall
    x, y = draw(st.floats(-0.3, 1.3)) * width, draw(st.floats(-1.0, 1.0)) * height
    hidden = draw(st.sets(st.sampled_from(sorted(POSE_POINTS)), max_size=3))
    return {n: (x + a * wide, y + b * tall, 0.9) for n, (a, b) in STANDING.items() if n not in hidden}


def hands(body: Body) -> tuple[float, float] | None:
    wrists = [body[n] for n in ("left_wrist", "right_wrist") if n in body]
    return (float(np.mean([w[0] for w in wrists])), float(np.mean([w[1] for w in wrists]))) if wrists else None


def is_place(x: float, y: float) -> bool:
    return math.isfinite(x) and math.isfinite(y)


@given(st.data())
@MANY
def test_circle(data: st.DataObject) -> None:
    patch = data.draw(pictures())[:, :, 1].astype(np.float32)
    height, width = patch.shape
    x, y = data.draw(st.floats(-5, width + 5)), data.draw(st.floats(-5, height + 5))
    diameter = data.draw(st.one_of(st.floats(0.0, 4.0), st.floats(1.0, 120.0)))
    fit = fit_circle(patch, x, y, diameter, rounds=3)
    assert fit is None or (is_place(fit.x, fit.y) and math.isfinite(fit.quality))


@pytest.mark.parametrize("diameter", [0.0, 0.1, 0.4, 1.0, 1.6])
def test_a_disc_too_small_to_have_an_edge_is_none(diameter: float) -> None:
    assert fit_circle(np.full((40, 40), 200.0, np.float32), 20.0, 20.0, diameter) is None


@given(st.data())
@MANY
def test_ball(data: st.DataObject) -> None:
    image = data.draw(pictures())
    body = data.draw(players(image))
    finder = BallFinder()
    for i in range(8):
        shown = image if i < 5 else np.full_like(image, 90)
        seen = finder.update(shown, i / FPS, hands(body), body, hands(body) if i % 2 else None)
        assert seen is None or is_place(seen.x, seen.y)


@given(st.data())
@MANY
def test_occluded_ball(data: st.DataObject) -> None:
    image = data.draw(pictures())
    seen = ball_behind_putter(image, data.draw(players(image)))
    assert seen is None or is_place(seen.x, seen.y)


@given(st.data())
@MANY
def test_outline_of_the_head(data: st.DataObject) -> None:
    image = data.draw(pictures())
    height, width = image.shape[:2]
    half = data.draw(st.one_of(st.floats(0.0, 3.0), st.floats(1.0, 80.0)))
    placed = place_twice(image, data.draw(st.floats(-5, width + 5)), data.draw(st.floats(-5, height + 5)), half)
    assert placed is None or all(is_place(outline.x, outline.y) for outline in placed)


@given(st.data(), st.booleans())
@MANY
def test_head(data: st.DataObject, mirrored: bool) -> None:
    image = data.draw(pictures())
    points = {n: np.array(p) for n, p in data.draw(players(image)).items()}
    tracker = HeadTracker(mirrored=mirrored)
    for i in range(14):
        shown = image if i < 11 else np.roll(image, i - 10, axis=1)
        reading = tracker.update(shown, i / FPS, points)
        assert reading is None or (is_place(reading.x, reading.y) and math.isfinite(reading.turn_deg))
        assert reading is not None or tracker.reason


@given(st.data())
@MANY
def test_putter(data: st.DataObject) -> None:
    image = data.draw(pictures())
    body = data.draw(players(image))
    size = data.draw(st.floats(0.5, 30.0))
    ball = data.draw(
        st.none()
        | st.builds(
            BallSeenImage,
            st.floats(-10, image.shape[1] + 10),
            st.floats(-10, image.shape[0] + 10),
            st.just(size),
            st.sampled_from([0.4, 0.9]),
            st.booleans(),
        )
    )
    tracker = PutterTracker()
    step = data.draw(st.floats(-30.0, 30.0))
    for i in range(8):
        moved = {n: (x + i * step, y, v) for n, (x, y, v) in body.items()} if i > 5 else body
        seen = tracker.update(image, i / FPS, hands(moved), moved, ball if i < 6 else None)
        assert seen is None or (is_place(*seen.head) and is_place(*seen.grip))


@dataclass(frozen=True)
class Swing:
    """A player with a thin line and a blob below his hands, at rest and then jumping about, at uneven times."""

    height: int
    width: int
    seed: int
    tall: float  # of the picture's height
    wide: float  # of a player seen face-on
    x: float  # of the picture's width
    y: float  # of its height
    noise: float
    tape: bool


swings = st.builds(
    Swing,
    height=st.integers(20, 260),
    width=st.integers(20, 260),
    seed=st.integers(0, 2**32 - 1),
    tall=st.floats(0.3, 1.4),
    wide=st.sampled_from([0.05, 1.0]),
    x=st.floats(0.1, 0.9),
    y=st.floats(-0.3, 0.3),
    noise=st.sampled_from([1.0, 3.0, 40.0]),
    tape=st.booleans(),
)


def played(swing: Swing) -> Iterator[tuple[np.ndarray, Body, float]]:
    """Picture, player and time (s) of each frame."""
    height, width, rng = swing.height, swing.width, np.random.default_rng(swing.seed)
    tall, x, y = swing.tall * height, swing.x * width, swing.y * height
    time_s, dx, angle, length = 0.0, 0.0, 0.0, 0.5
    for i in range(28):
        time_s += 1 / FPS
        if i > 13:
            time_s += float(rng.choice([-1 / FPS, 1e-4 - 1 / FPS, 0.0, 0.0, 0.07]))
            dx += float(rng.choice([0.0, 0.0, 3.0, -20.0]))
            angle = float(rng.choice([angle, angle, angle + 5.0, -20.0, 80.0]))
            length *= float(rng.choice([1.0, 1.0, 1.04, 0.96]))
        body = {n: (x + dx + a * swing.wide * tall, y + b * tall, 0.9) for n, (a, b) in STANDING.items()}
        image = np.full((height, width, 3), 70, np.uint8)
        at = hands(body)
        assert at is not None
        low, sole = (tuple(round(v) for v in Ray(*at, angle).place(s * length * tall)) for s in (0.8, 1.0))
        cv2.line(image, (round(at[0]), round(at[1])), sole, (230, 230, 230), 2)
        cv2.circle(image, sole, 4, (220, 220, 220), -1)
        if swing.tape:
            cv2.line(image, low, sole, (0, 120, 255), 4)
        yield np.clip(image + rng.normal(0, swing.noise, image.shape), 0, 255).astype(np.uint8), body, time_s


# So small a player that the strip along his shaft is three pixels wide.
SMALL = Swing(height=40, width=70, seed=10, tall=1.2, wide=1.0, x=0.5, y=-0.1, noise=1.0, tape=False)


@given(swing=swings, with_ball=st.booleans())
@example(swing=SMALL, with_ball=False)
@settings(MANY, max_examples=MANY.max_examples // 4)
def test_putter_that_jumps_about(swing: Swing, with_ball: bool) -> None:
    tracker, finder = PutterTracker(), BallFinder()
    for image, body, time_s in played(swing):
        ball = finder.update(image, time_s, hands(body), body) if with_ball else None
        seen = tracker.update(image, time_s, hands(body), body, ball)
        assert seen is None or (is_place(*seen.head) and is_place(*seen.grip))


@given(st.data())
@MANY
def test_tape(data: st.DataObject) -> None:
    image = data.draw(pictures())
    height, width = image.shape[:2]
    ray = Ray(data.draw(st.floats(-5, width + 5)), data.draw(st.floats(-5, height + 5)), data.draw(st.floats(-90, 90)))
    ball = data.draw(st.floats(0.1, 20.0))
    learned = learn_tape(image, ray, data.draw(st.floats(0.0, 200.0)), ball, data.draw(st.sampled_from([None, 25.0])))
    assert learned is None or is_place(*learned[1])


@given(st.data(), st.sampled_from(["face-on", "down-the-line"]))
@settings(MANY, max_examples=MANY.max_examples // 4)
def test_tilt(data: st.DataObject, view: View) -> None:
    image = data.draw(pictures())
    body = data.draw(st.none() | players(image))
    ball = data.draw(st.none() | st.tuples(st.floats(-5, image.shape[1] + 5), st.floats(-5, image.shape[0] + 5)))
    stand = camera_stand(image, view, body, ball)
    assert stand is None or (math.isfinite(stand.confidence) and math.isfinite(stand.camera.roll_deg))
