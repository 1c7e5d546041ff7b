"""The pose model itself, on a photograph that a package ships, and the stand-ins around its import."""

from __future__ import annotations

import sys

import cv2
import numpy as np
import pytest

from trainer.vision.body.pose import POSE_POINTS, PoseBody


def test_pose_model_finds_the_person_on_a_photograph() -> None:
    """matplotlib's sample photograph (its mpl-data/sample_data): a head-and-shoulders portrait, face to the camera."""
    cbook = pytest.importorskip("matplotlib.cbook")
    with cbook.get_sample_data("grace_hopper.jpg") as file:
        image = cv2.imdecode(np.frombuffer(file.read(), np.uint8), cv2.IMREAD_COLOR)
    body = PoseBody()
    try:
        points = None
        for _ in range(3):
            points = body.find(image)
        assert points is not None
        assert set(points) == set(POSE_POINTS)
        nose, left, right = (points[n] for n in ("nose", "left_eye", "right_eye"))
        height, width = image.shape[:2]
        assert 0.3 * width < nose[0] < 0.7 * width
        assert 0.1 * height < nose[1] < 0.6 * height
        assert right[0] < nose[0] < left[0]  # the person's own left is on the picture's right
        assert max(left[1], right[1]) < nose[1]
        assert points["left_shoulder"][1] > nose[1]
        assert body.find(np.full((120, 160, 3), 90, np.uint8)) is None
    finally:
        body.close()


def test_import_of_the_model_leaves_no_stand_in_behind() -> None:
    PoseBody().close()
    plotting = sys.modules.get("matplotlib")
    assert plotting is None or hasattr(plotting, "__version__")
    pyplot = pytest.importorskip("matplotlib.pyplot")
    assert hasattr(pyplot, "subplots")
