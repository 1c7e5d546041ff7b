"""The camera's best mode: what it gives, what the computer keeps up with, what is kept, what the settings say."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path

import numpy as np
import pytest

from trainer.app.camera_mode import (
    COST_FRAMES,
    LADDER,
    PLAIN,
    best_mode,
    camera_mode,
    faster_line,
    may_choose,
    measured_cost,
    mode_line,
    modes_together,
)
from trainer.camera_setup.camera_memory import recall_mode, remember_mode
from trainer.camera_setup.mode_cost import Cost
from trainer.domain.observation import Frame
from trainer.errors import CameraError
from trainer.settings.load import from_options, load
from trainer.settings.model import Settings
from trainer.testing.fakes import FakeClock, ListSource
from trainer.vision.sources.camera_device import Mode

HD60, HD30, VGA60, VGA30 = LADDER
NOTHING = Cost(0.0, 0.0, 0.0)
NOW = datetime(2026, 1, 2, tzinfo=timezone.utc)


def settings_of(**options: object) -> Settings:
    return load([from_options(**options)])


class Shop:
    """Cameras that give ``fps`` at most, in each of their sizes; what was opened."""

    def __init__(self, fps: dict[tuple[int, int], float]) -> None:
        self._fps = fps
        self.asked: list[Mode] = []
        self.sources: list[ListSource] = []

    def opens(self, mode: Mode) -> ListSource:
        self.asked.append(mode)
        size = (mode.width, mode.height)
        if not self._fps:
            raise CameraError("is not there", "camera 0", "plug it in")
        given = size if size in self._fps else next(iter(self._fps))
        rate = min(mode.fps, self._fps[given])
        image = np.zeros((given[1], given[0], 3), np.uint8)
        late = [0.04 if k == 20 else 0.0 for k in range(70)]  # one picture comes late
        self.sources.append(ListSource(Frame(k, k / rate + late[k], image) for k in range(70)))
        return self.sources[-1]


@pytest.mark.parametrize(
    ("given", "best", "asked"),
    [
        ({(1280, 720): 60.0, (640, 480): 60.0}, HD60, [HD60]),
        ({(1280, 720): 30.0, (640, 480): 60.0}, HD30, [HD60]),
        ({(1280, 720): 10.0, (640, 480): 60.0}, VGA60, [HD60, VGA60]),
        ({(640, 480): 60.0}, VGA60, [HD60, VGA60]),
        ({(640, 480): 30.0}, VGA30, [HD60, VGA60]),
    ],
)
def test_the_first_that_the_camera_gives(given: dict[tuple[int, int], float], best: Mode, asked: list[Mode]) -> None:
    shop = Shop(given)
    assert best_mode(shop.opens, lambda size: NOTHING, 2) == best
    assert shop.asked == asked
    assert all(source.closed for source in shop.sources)


def test_what_the_computer_does_not_keep_up_with_is_not_asked_for() -> None:
    shop = Shop({(1280, 720): 60.0, (640, 480): 60.0})
    large, small = Cost(0.02, 0.002, 0.015), Cost(0.02, 0.001, 0.006)
    assert best_mode(shop.opens, lambda size: large if size[0] > 640 else small, 2) == HD30
    assert shop.asked == [HD30]
    assert best_mode(shop.opens, lambda size: Cost(0.1, 0.01, 0.05), 2) == PLAIN
    assert shop.asked == [HD30]


def test_a_camera_that_is_not_there_has_no_mode() -> None:
    assert best_mode(Shop({}).opens, lambda size: NOTHING, 2) is None


def test_one_core_has_half_the_time() -> None:
    cost = Cost(0.018, 0.0015, 0.006)
    assert [cost.kept_up(60, cores) for cores in (1, 2)] == [False, True]
    assert cost.kept_up(30, 1)
    assert not Cost(0.001, 0.001, 0.02).kept_up(60, 8)  # what goes in one thread is not shared out


def test_it_is_kept_beside_the_stand_and_the_settings_rule(tmp_path: Path) -> None:
    camera = settings_of().camera
    assert camera_mode(camera, tmp_path) == PLAIN == camera_mode(camera, None)
    assert "setup finds" in mode_line(camera, tmp_path)
    remember_mode(tmp_path, "0", HD60, NOW)
    remember_mode(tmp_path, "1", VGA60, NOW)
    assert camera_mode(camera, tmp_path) == HD60
    assert mode_line(camera, tmp_path).startswith("1280x720 at 60 frames/s is the best")
    assert camera_mode(settings_of(camera__source=1).camera, tmp_path) == VGA60
    assert camera_mode(settings_of(camera__fps=30.0).camera, tmp_path) == HD30
    (tmp_path / "cameras.json").write_text('{"mode of 0": {"width": -3}}')
    assert recall_mode(tmp_path, "0") is None


def test_phones_streams_and_told_modes_are_not_chosen() -> None:
    assert may_choose(settings_of().camera)
    assert may_choose(settings_of(camera__width=1280).camera)
    assert not may_choose(settings_of(camera__source="phone").camera)
    assert not may_choose(settings_of(camera__source="rtsp://there/1").camera)
    assert not may_choose(settings_of(camera__width=640, camera__height=480, camera__fps=60.0).camera)


def test_two_cameras_at_once_have_fewer_frames_where_both_are_too_much(tmp_path: Path) -> None:
    def modes(cores: int, **second: object) -> list[Mode]:
        cameras = [settings_of().camera, settings_of(camera__source=1, **second).camera]
        return modes_together(cameras, tmp_path, cores)

    assert modes(1) == [PLAIN, PLAIN]
    each = Cost(0.018, 0.0015, 0.006)  # 0.78 of a core at 60 frames a second, 0.55 at 30
    remember_mode(tmp_path, "0", HD60, NOW, each)
    remember_mode(tmp_path, "1", VGA60, NOW)
    assert modes(1) == [HD30, VGA60]  # of the second nothing is known
    remember_mode(tmp_path, "1", VGA60, NOW, each)
    assert modes(4) == [HD60, VGA60]
    assert modes(2) == [HD60, VGA30]
    assert modes(1) == [HD30, VGA30]
    assert modes(2, camera__fps=60.0) == [HD30, VGA60]  # told: it stays


def test_more_frames_are_advised_only_where_something_can_give_them(tmp_path: Path) -> None:
    def advice(**options: object) -> str:
        return faster_line(settings_of(**options).camera, tmp_path)

    assert "setup" in advice()
    remember_mode(tmp_path, "0", VGA30, NOW)
    assert advice() == ""  # measured: there is none
    assert advice(camera__source="rtsp://there/1") == ""
    assert "camera.fps = 60" in advice(camera__fps=30.0)
    assert "camera.fps = 60" in advice(camera__source="phone")


def test_the_cost_is_measured_on_a_player_in_that_size() -> None:
    clock, sizes = FakeClock(), []

    class Body:
        def find(self, image_bgr: np.ndarray) -> None:
            sizes.append(image_bgr.shape)
            clock.advance(0.02 if len(sizes) % 6 else 0.5)  # something else ran now and then

        def close(self) -> None:
            sizes.append((0, 0, 0))

    cost = measured_cost(Body, (640, 360), clock)
    assert cost == Cost(pytest.approx(0.02), 0.0, 0.0)
    assert sizes == [(360, 640, 3)] * COST_FRAMES + [(0, 0, 0)]
