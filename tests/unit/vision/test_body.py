"""The pose stage: points against recorded ones of another program, a photograph that a package ships, and its parts."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from tests.support.paths import DATA
from trainer.resources import data_path
from trainer.vision.body.detector import GRID, PersonDetector, best_points
from trainer.vision.body.landmarks import REACH_CELLS, drawn_to_heat
from trainer.vision.body.pose import POSE_POINTS, PoseBody
from trainer.vision.body.region import MARGIN, Picture, Places, Region, RegionFollower
from trainer.vision.sources.clip import Clip

MOST_RMS_PX, MOST_PX = 0.15, 0.6  # measured: 0.07 and 0.27


def picture_of(clip: Clip) -> Picture:
    frame = clip.read()
    assert frame is not None
    return frame.image


def test_points_are_those_that_mediapipe_gives() -> None:
    """tests/data/pose: the points of MediaPipe 0.10.21, unsmoothed, on the demo's first frames (tests/bench/pose_points.py)."""
    with np.load(DATA / "pose" / "mediapipe_0_10_21.npz") as file:
        wanted, names = file["points"], list(file["names"])
    body, found = PoseBody(), []
    with Clip(data_path("demo", "demo.mp4")) as clip:
        for _ in range(len(wanted)):
            points = body.find(picture_of(clip))
            assert points is not None
            found.append([points[name] for name in names])
    off = np.array(found) - wanted
    away = np.hypot(off[..., 0], off[..., 1])
    assert np.sqrt(np.mean(away**2)) < MOST_RMS_PX
    assert away.max() < MOST_PX
    assert np.abs(off[..., 2]).max() < 0.02


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


def test_shown_the_mirrored_picture_sides_are_still_the_persons_own() -> None:
    """A picture, and the same picture mirrored to a body that mirrors it back: the same points, on the other side."""
    with Clip(data_path("demo", "demo.mp4")) as clip:
        image = picture_of(clip)
    plain, mirrored = PoseBody().find(image), PoseBody(mirrored=True).find(np.ascontiguousarray(image[:, ::-1]))
    assert plain is not None
    assert mirrored is not None
    width = image.shape[1]
    for side, other in (("left", "right"), ("right", "left")):
        x, y, visibility = plain[f"{side}_ankle"]
        assert mirrored[f"{other}_ankle"] == pytest.approx([width - 1 - x, y, visibility])


def test_no_person_in_an_empty_picture() -> None:
    assert PersonDetector().find(np.full((480, 640, 3), 127, np.uint8)) is None


def test_the_best_box_is_averaged_with_those_that_overlap_it_only() -> None:
    anchors = np.array([[0.5, 0.5], [0.5, 0.5], [0.1, 0.1], [0.9, 0.9]], np.float32)
    values = np.zeros((4, 12), np.float32)
    values[:, 2:4] = 0.2  # size
    values[1, 0] = 0.02
    values[1, 4] = 0.04  # x of the first point
    sure, half_sure = 4.0, 1.0
    points = best_points(values, np.array([sure, half_sure, sure - 1, -1.0], np.float32), anchors)
    assert points is not None
    weights = [1 / (1 + math.exp(-v)) for v in (sure, half_sure)]
    assert points[0] == pytest.approx([0.5 + 0.04 * weights[1] / sum(weights), 0.5])
    assert points[1] == pytest.approx([0.5, 0.5])
    assert best_points(values, np.full(4, -0.1, np.float32), anchors) is None


def test_the_grid_has_as_many_anchors_as_the_model_has_boxes() -> None:
    assert sum(cells * cells * each for cells, each in GRID) == 2254  # the shape of the model's output


def test_a_region_stands_upright_on_a_person_who_leans() -> None:
    lean = math.radians(30)
    hips, far = np.array([300.0, 260.0]), np.array([300 + 100 * math.sin(lean), 260 - 100 * math.cos(lean)])
    region = Region.around(np.array([hips, far]))
    assert region is not None
    assert region.side_px == pytest.approx(2 * MARGIN * 100)
    assert math.degrees(region.angle_rad) == pytest.approx(30)
    up = 0.5 - 0.5 / MARGIN  # straight above the middle, where the far point is in the region
    assert region.places(np.array([[0.5, 0.5], [0.5, up]])) == pytest.approx(np.array([hips, far]))


def test_what_is_cut_out_lies_where_places_says() -> None:
    picture = np.zeros((240, 320, 3), np.uint8)
    cv2.circle(picture, (200, 90), 4, (255, 255, 255), -1)
    region = Region(180, 110, 120, math.radians(20))
    cut = region.cut(picture, 256, cv2.BORDER_CONSTANT)[..., 0].astype(float)
    assert cut.shape == (256, 256)
    down, across = np.mgrid[:256, :256]
    middle = np.array([[(cut * across).sum(), (cut * down).sum()]]) / cut.sum() / 256
    assert region.places(middle) == pytest.approx(np.array([[200, 90]]), abs=0.3)


def test_the_whole_picture_is_in_the_middle_of_its_region() -> None:
    white = np.full((120, 160, 3), 255, np.uint8)
    cut = Region.whole(white).cut(white, 16, cv2.BORDER_CONSTANT)
    assert cut[:2].max() == 0
    assert cut[-2:].max() == 0
    assert cut[3:13].min() == 255


def test_points_are_drawn_to_the_heat_near_them() -> None:
    cells = 64
    heat = np.full((cells, cells, 2), -80.0, np.float32)
    heat[20, 32, 0] = heat[20, 33, 0] = 80.0
    shares = np.array([[30.2 / cells, 21.5 / cells]] * 2, np.float32)
    drawn = drawn_to_heat(shares, heat, np.array([0, 1]))
    assert drawn[0] == pytest.approx([32.5 / cells, 20 / cells])
    assert drawn[1] == pytest.approx(shares[1])  # no heat in its layer
    away = np.array([[(32 - REACH_CELLS - 1) / cells, 20 / cells]], np.float32)
    assert drawn_to_heat(away, heat, np.array([0])) == pytest.approx(away)
    outside = np.array([[1.01, 0.5]], np.float32)
    assert drawn_to_heat(outside, heat, np.array([0])) == pytest.approx(outside)


def test_the_region_follows_a_walk_and_steadies_a_tremble() -> None:
    start = np.array([[300.0, 240.0], [300.0, 60.0]])
    shaken, follower = np.random.default_rng(1), RegionFollower()

    def followed_x(points: Places) -> float:
        region = follower.next_region(points)
        assert region is not None
        return region.x_px

    still = [followed_x(start + shaken.normal(0, 1.0, (2, 2))) for _ in range(200)]
    assert np.std(still[20:]) < 0.35
    follower.forget()
    assert followed_x(start) == 300
    places = [followed_x(start + np.array([3.0 * k, 0.0])) for k in range(90)]
    assert 300 + 3.0 * 89 - places[-1] < 0.05 * 360  # behind by less than a twentieth of the player's height


def test_points_in_one_place_make_no_region() -> None:
    assert RegionFollower().next_region(np.full((2, 2), 50.0)) is None
