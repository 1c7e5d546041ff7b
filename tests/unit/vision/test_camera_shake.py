"""A camera that trembles or is knocked is told from a player who moves."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.vision.test_any_picture import MANY, pictures
from trainer.vision.camera_shake import KNOCK_LINE, SHAKES_LINE, ShakeWatch


def ground() -> np.ndarray:
    rng = np.random.default_rng(5)
    coarse = rng.integers(60, 190, (30, 40, 3), dtype=np.uint8)
    return cv2.resize(coarse, (640, 480), interpolation=cv2.INTER_CUBIC)


def shown(dx: float, dy: float, player_x: int) -> np.ndarray:
    image = ground()
    cv2.rectangle(image, (player_x, 120), (player_x + 110, 430), (40, 60, 80), -1)
    return cv2.warpAffine(
        image, np.array([[1, 0, dx], [0, 1, dy]], np.float32), (640, 480), borderMode=cv2.BORDER_REPLICATE
    )


def lines(trembles_px: float, knocked_px: float = 0.0, frames: int = 90, fps: float = 30.0) -> set[str]:
    watch, rng = ShakeWatch(), np.random.default_rng(2)
    said = set()
    for k in range(frames):
        dx, dy = rng.normal(0, trembles_px, 2)
        sways = int(25 * np.sin(k / 6)) if 30 < k < 60 else 0
        said.add(watch.see(shown(dx + (knocked_px if k > 50 else 0.0), dy, 260 + sways), k / fps).line)
    return said


def test_a_camera_that_stands_firm() -> None:
    assert lines(0.0) == {""}


@pytest.mark.parametrize("px", [0.8, 1.5])
def test_a_camera_that_trembles(px: float) -> None:
    assert SHAKES_LINE in lines(px)


def test_at_twice_the_rate_no_more_pictures_are_looked_at() -> None:
    assert lines(0.0, fps=60.0) == {""}
    assert SHAKES_LINE in lines(0.8, fps=60.0)
    watch, shifts = ShakeWatch(), [0.0, 12.0, -12.0, 12.0]  # knocks, over at each frame that is looked at
    assert not any(watch.see(shown(shifts[k % 4], 0, 260), k / 60).line for k in range(60))


@pytest.mark.parametrize("px", [12.0, 45.0])
def test_a_camera_that_is_knocked(px: float) -> None:
    watch = ShakeWatch()
    shakes = [watch.see(shown(px if k > 20 else 0.0, 0, 260), k / 30) for k in range(40)]
    assert sum(shake.knocked for shake in shakes) == 1
    assert KNOCK_LINE in {shake.line for shake in shakes}


@given(st.data())
@MANY
def test_any_picture(data: st.DataObject) -> None:
    watch, image = ShakeWatch(), data.draw(pictures())
    for k in range(3):
        for shown_image, time_s in ((np.roll(image, k, axis=1), k / 6), (np.zeros_like(image), k / 6 + 1 / 12)):
            seen = watch.see(shown_image, time_s)
            assert seen.line in ("", SHAKES_LINE, KNOCK_LINE)
