"""The observer as a whole, with a body tracker that sees what it is told."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.drawn_putter import Look, background, body, head, picture
from tests.unit.vision.test_any_picture import MANY, pictures, players
from trainer.domain.observation import Frame, Handedness, View
from trainer.vision.observer import Observer, ObserverOptions


class Told:
    """Finds whatever it was told last."""

    def __init__(self) -> None:
        self.body: dict[str, Any] | None = None

    def find(self, image_bgr: Any) -> dict[str, Any] | None:
        return None if self.body is None else {n: np.array(p) for n, p in self.body.items()}

    def close(self) -> None:
        """There is no model."""


@given(st.data(), st.sampled_from(["face-on", "down-the-line"]), st.sampled_from(["right", "left"]))
@settings(MANY, max_examples=MANY.max_examples // 2)
def test_any_picture_and_any_player(data: st.DataObject, view: View, handedness: Handedness) -> None:
    """Short sequences: the player jumps, leaves, is cut by the edge; the picture changes, also its size."""
    told = Told()
    observer = Observer(told, ObserverOptions(handedness, view, data.draw(st.none() | st.just(180.0))))
    image = data.draw(pictures())
    told.body = data.draw(st.none() | players(image))
    time_s = 0.0
    for k in range(18):
        time_s += 1 / 30
        if k >= 14 and data.draw(st.integers(0, 3)) == 0:
            image = data.draw(pictures())
            told.body = data.draw(st.none() | players(image))
        seen = observer.see(Frame(k, time_s, image))
        assert (seen.frame.view, seen.frame.handedness) == (view, handedness)  # of frames in which nothing is seen, too
        height, width = image.shape[:2]
        for name in ("body", "head", "putter", "ball"):
            assert getattr(seen, name) is not None or seen.reasons[name]
        for point in (seen.body or {}).values():
            x, y = seen.frame.to_picture(point)
            assert -1 <= x <= width
            assert 0 <= y <= height
        if seen.putter is not None:
            x, y = seen.frame.to_picture(seen.putter.head)
            assert -1 <= x <= width
            assert 0 <= y <= height


@pytest.mark.parametrize("other", [(240, 320), (480, 641)])
def test_another_size_is_said_and_begins_anew(other: tuple[int, int]) -> None:
    observer = Observer(Told())
    first = observer.see(Frame(0, 0.0, np.zeros((480, 640, 3), np.uint8)))
    assert not first.faulty
    changed = observer.see(Frame(1, 0.1, np.zeros((*other, 3), np.uint8)))
    assert changed.faulty
    assert "size" in changed.advice[0]
    assert not observer.see(Frame(2, 0.2, np.zeros((*other, 3), np.uint8))).faulty


def test_a_picture_that_comes_twice_is_of_the_same_view() -> None:
    observer = Observer(Told(), ObserverOptions("left", "down-the-line"))
    images = [np.full((240, 320, 3), 90, np.uint8) for _ in range(2)]
    images[1][100:140, 100:140] = 200
    shown = [images[0], images[1], images[1]]
    seen = [observer.see(Frame(k, k / 30, image)) for k, image in enumerate(shown)]
    assert "once more" in seen[2].reasons["putter"]
    assert seen[2].frame == seen[1].frame


@pytest.mark.parametrize("levels", [((0.55, 80.0), (1.0, 10.0)), ((0.85, 35.0), (0.68, 55.0))])
def test_a_bare_shaft_is_followed_on_where_haze_comes_or_goes(
    levels: tuple[tuple[float, float], ...],
) -> None:
    told, rng = Told(), np.random.default_rng(3)
    told.body = body(0.0)
    observer = Observer(told, ObserverOptions(putter="shaft"))
    clear = picture(background(rng), [0.0], Look(None, noise=0.0), rng, Look.ball_at)
    for k in range(18):
        gain, offset = levels[k >= 10]
        seen = observer.see(Frame(k, k / 30, (gain * clear + offset + k % 2).astype(np.uint8)))
        if k > 8:  # its length is measured
            assert seen.putter is not None
            assert seen.putter.confidence > 0.8
            assert math.dist(seen.frame.to_picture(seen.putter.head), head(0.0)) < 1.0


@pytest.mark.parametrize(("handedness", "away"), [("right", "left_wrist"), ("left", "right_wrist")])
def test_a_hand_that_does_not_hold_the_putter_does_not_say_where_that_is(handedness: Handedness, away: str) -> None:
    told, rng = Told(), np.random.default_rng(3)
    told.body = body(0.0)
    told.body[away] = np.array([told.body[away][0] + 120.0, told.body[away][1] - 160.0, told.body[away][2]])
    observer = Observer(told, ObserverOptions(handedness, putter="shaft", grip="trail hand only"))
    x, y = Look.ball_at
    ball = (2 * head(0.0)[0] - x, y) if handedness == "left" else (x, y)
    still = picture(background(rng), [0.0], Look(None, noise=0.0), rng, ball)
    for k in range(12):
        seen = observer.see(Frame(k, k / 30, still + k % 2))
    assert seen.putter is not None
    assert math.dist(seen.frame.to_picture(seen.putter.head), head(0.0)) < 1.0
