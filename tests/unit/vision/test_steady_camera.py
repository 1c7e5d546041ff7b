"""Pictures of a camera that trembles or is held in a hand are held still; those of one that stands firm are left alone."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.vision.test_any_picture import pictures
from tests.unit.vision.test_camera_shake import shown
from trainer.domain.observation import Frame
from trainer.vision.camera_motion import NOT_MOVED, CameraMotion, Moved, steadied
from trainer.vision.camera_shake import SHAKES_LINE, ShakeWatch
from trainer.vision.steady_camera import SteadyCamera

SIZE = (640, 480)


def room(player_x: int = 260) -> np.ndarray:
    """A floor, a wall of little pattern, a player."""
    return cv2.GaussianBlur(shown(0, 0, player_x), (0, 0), 1.5)


def filmed(moved: Moved, player_x: int = 260) -> np.ndarray:
    return cv2.warpAffine(room(player_x), moved.matrix(SIZE), SIZE, borderMode=cv2.BORDER_REPLICATE)


@pytest.mark.parametrize("moved", [Moved(3.0, -2.0, 0.0), Moved(-9.0, 6.0, 0.01), Moved(0.4, 0.3, -0.004)])
def test_shift_and_roll_are_found_though_a_player_moves(moved: Moved) -> None:
    motion = CameraMotion()
    assert motion.see(filmed(NOT_MOVED)) == NOT_MOVED
    found = motion.see(filmed(moved, player_x=275))
    assert found is not None
    there, here = (m.matrix(SIZE) @ np.array([320.0, 400.0, 1.0]) for m in (moved, found))
    assert np.abs(there - here).max() < 0.3


def test_another_scene_is_no_motion() -> None:
    motion = CameraMotion()
    motion.see(room())
    assert motion.see(np.rot90(room(), 2).copy()[:, ::-1] // 2) is None
    assert CameraMotion().see(np.full((480, 640, 3), 90, np.uint8)) is None


def swaying(k: int) -> Moved:
    return Moved(6 * math.sin(k / 7), 4 * math.cos(k / 5) + 0.6 * (-1) ** k, 0.004 * math.sin(k / 9))


def test_held_still_from_when_it_is_found_to_move() -> None:
    steady, places, anew = SteadyCamera(), [], []
    for k in range(60):
        frame = steady.steadied(Frame(k, k / 30, filmed(swaying(k))))
        assert frame.shake is not None
        assert not frame.shake.knocked
        anew += [k] if frame.shake.anew else []
        if k >= 30:
            places.append(frame.image)
            watched = CameraMotion()
            watched.see(places[0])
            off = watched.see(frame.image)
            assert off is not None
            assert max(abs(off.x_px), abs(off.y_px)) < 0.5, k
    assert len(anew) == 1  # from there on what stands still stays where it is
    assert anew[0] < 30


@pytest.mark.parametrize("still", [0, 60])
def test_a_firm_camera_is_left_alone_while_the_player_sways(still: int) -> None:
    steady, watch, seemed = SteadyCamera(), ShakeWatch(), 0
    for k in range(still + 60):
        image = room(260 + int(25 * math.sin(max(k - still, 0) / 6)))
        frame = steady.steadied(Frame(k, k / 30, image))
        assert frame.image is image
        assert frame.shake is not None
        assert not frame.shake.line
        seemed += watch.see(image, k / 30).line == SHAKES_LINE
    assert seemed  # by the picture as a whole alone it would have been told to shake


def test_the_same_picture_twice_is_the_same_held_still() -> None:
    steady, frame = SteadyCamera(), Frame(0, 0.0, room())
    for k in range(40):
        before, frame = frame, steady.steadied(Frame(k, k / 30, filmed(swaying(k - k % 2))))
    assert frame.image is before.image


def test_pointed_elsewhere_is_a_knock_and_begins_anew() -> None:
    steady = SteadyCamera()
    for k in range(40):
        steady.steadied(Frame(k, k / 30, filmed(swaying(k))))
    away = steady.steadied(Frame(40, 40 / 30, filmed(Moved(100.0, 0.0, 0.0))))
    assert away.shake is not None
    assert away.shake.knocked
    assert away.shake.anew
    other_size = steady.steadied(Frame(41, 41 / 30, room()[::2, ::2].copy()))
    assert other_size.image.shape == (240, 320, 3)


@given(st.data())
@settings(max_examples=12, deadline=None)
def test_any_picture(data: st.DataObject) -> None:
    image, motion, steady = data.draw(pictures()), CameraMotion(), SteadyCamera()
    for k in range(3):
        moved = motion.see(np.roll(image, k, axis=1))
        if moved is not None:
            assert steadied(image, moved).shape == image.shape
    for k in range(18):
        steady.steadied(Frame(k, k / 15, np.roll(image, 3 * (k % 2), axis=1)))
