"""Pictures of another size of the same view are made as large as before; those of another view are let be."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.vision.test_any_picture import MANY, pictures
from tests.unit.vision.test_steady_camera import room
from trainer.domain.observation import Frame
from trainer.vision.same_size import SIZE_LINE, SameSize
from trainer.vision.steady_camera import SteadyCamera


def resized(image: np.ndarray, share: float) -> np.ndarray:
    return cv2.resize(image, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)


@pytest.mark.parametrize("share", [0.5, 0.8, 1.5])
def test_the_same_view_is_as_large_as_before_and_said_while_it_is_not(share: float) -> None:
    steady, image = SteadyCamera(), room()
    told = []
    for k, picture in enumerate([image, resized(image, share), resized(image, share), image]):
        held = steady.steadied(Frame(k, k / 30, picture))
        assert held.image.shape == image.shape
        assert np.abs(held.image.astype(int) - image).mean() < 3
        told.append(held.shake is not None and held.shake.line == SIZE_LINE)
    assert told == [False, True, True, False]


@pytest.mark.parametrize("kind", ["turned", "nearer", "another"])
def test_another_view_is_let_be(kind: str) -> None:
    same, image = SameSize(), room()
    same.sized(Frame(0, 0.0, image))
    height, width = image.shape[:2]
    y, x = height // 20, width // 20
    views = {"turned": np.rot90(image), "nearer": image[y:-y, x:-x], "another": resized(255 - image, 0.5)}
    after = np.ascontiguousarray(views[kind])
    for k in (1, 2):
        assert same.sized(Frame(k, k / 30, after)).image is after
    assert not same.changed


@given(st.data())
@MANY
def test_any_pictures(data: st.DataObject) -> None:
    same = SameSize()
    for k in range(4):
        image = data.draw(pictures())
        out = same.sized(Frame(k, k / 30, image)).image
        assert out.dtype == np.uint8
        assert out.shape[2] == 3
