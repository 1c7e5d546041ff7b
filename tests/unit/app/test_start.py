"""What the start window remembers and says at once; a camera kept open; heights as people write them."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.practice_stage import Stage, StageDisplay, joined, stroke
from trainer.app.context import load_context
from trainer.app.homework import HomeworkRequest, set_homework
from trainer.app.start.cameras import KEPT_S, KeptCamera, camera_choices
from trainer.app.start.common_settings import change_common
from trainer.app.start.height import height_cm
from trainer.app.start.home import coach_round, home
from trainer.app.start.memory import DONE, StartMemory, recall_start, remember_start
from trainer.app.students import add_student
from trainer.domain.observation import Frame
from trainer.errors import CameraError, SettingsError, UsageError
from trainer.settings.model import Camera, Settings
from trainer.testing.fakes import FakeClock, ListSource

BLANK = np.zeros((48, 64, 3), np.uint8)


@pytest.mark.parametrize(
    ("text", "cm"),
    [
        ("", None), (" ", None), ("172", 172.0), ("172,5 cm", 172.5), ("1.72 m", 172.0), ("5 ft 8 in", 172.7), ("6'", 182.9),
        ("5'11\"", 180.3),
    ],
)  # fmt: skip
def test_heights(text: str, cm: float | None) -> None:
    assert height_cm(text) == cm


def test_no_height() -> None:
    with pytest.raises(UsageError, match="tall is no height"):
        height_cm("tall")


def test_the_first_time_goes_on_where_it_ended(tmp_path: Path) -> None:
    assert recall_start(tmp_path) == StartMemory(None, 0)
    remember_start(tmp_path, StartMemory(None, 3))
    assert recall_start(tmp_path).first_page == 3
    (tmp_path / "start.json").write_text("[broken", encoding="utf-8")
    assert recall_start(tmp_path) == StartMemory(None, 0)


def test_who_knows_the_commands_needs_no_first_time(tmp_path: Path) -> None:
    add_student(load_context(tmp_path), "Robin", {})
    assert recall_start(tmp_path) == StartMemory("Robin", DONE)
    add_student(load_context(tmp_path), "Kim", {})
    remember_start(tmp_path, StartMemory("Gone", DONE))
    assert recall_start(tmp_path) == StartMemory(None, DONE)


def test_what_is_due_follows_homework_then_the_students_own_drill(tmp_path: Path) -> None:
    context = load_context(tmp_path)
    add_student(context, "Robin", {})
    assert home(context, "Robin").due.drill is None
    add_student(context, "Kim", {"student.drills": ["still-head"]})
    assert home(context, "Kim").due.drill == "still-head"
    set_homework(context, HomeworkRequest("Kim", "hold-then-look", 12))
    due = home(context, "Kim").due
    assert (due.drill, due.what) == ("hold-then-look", "Hold, then look, 12 strokes")
    assert due.why.startswith("Homework: due")
    tomorrow = date.today() + timedelta(days=1)
    add_student(context, "Alex", {"student.drills": ["still-head"]})
    set_homework(context, HomeworkRequest("Alex", "hold-then-look", 12, first=tomorrow))
    assert home(context, "Alex").due.drill == "still-head"


def test_a_drill_made_before_says_how_it_went(tmp_path: Path) -> None:
    context = load_context(tmp_path)
    add_student(context, "Kim", {"student.drills": ["hold-then-look"]})
    Stage(joined(stroke(1.3), stroke(-0.35)), StageDisplay()).practise(tmp_path, student="Kim", drill="hold-then-look")
    assert home(context, "Kim").due.why == "last time 1 of 2 good"
    assert [(line.name, line.strokes) for line in coach_round(context).lines] == [("Kim", 2)]


def test_common_settings_are_checked_before_they_are_written(tmp_path: Path) -> None:
    context = load_context(tmp_path)
    change_common(context, {"sound.volume": 0.5})
    before = (tmp_path / "settings.toml").read_text(encoding="utf-8")
    with pytest.raises(SettingsError):
        change_common(context, {"sound.volume": 3.0})
    assert (tmp_path / "settings.toml").read_text(encoding="utf-8") == before
    assert load_context(tmp_path).settings.sound.volume == 0.5


# ---- cameras


def test_cameras_that_may_be_there(tmp_path: Path) -> None:
    for name in ("video0", "video10", "video2", "video-x", "null"):
        (tmp_path / name).touch()
    assert camera_choices(2, tmp_path, "linux") == ("0", "2", "10", "phone")
    assert camera_choices("rtsp://x", tmp_path, "linux")[-2:] == ("rtsp://x", "phone")
    assert camera_choices("phone", tmp_path / "none", "linux") == ("0", "phone")  # the way back to a camera
    assert camera_choices(7, tmp_path, "win32") == ("0", "1", "2", "3", "7", "phone")


class Opens:
    """Counts what is opened and closed."""

    def __init__(self, failure: Exception | None = None) -> None:
        self.sources: list[ListSource] = []
        self._failure = failure

    def __call__(
        self, settings: Settings, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> ListSource:
        self.sources.append(ListSource([Frame(k, k / 30, BLANK) for k in range(5)], self._failure))
        return self.sources[-1]


def of_camera(number: int) -> Settings:
    return Settings(camera=Camera(source=number))


def test_a_camera_stays_open_for_the_next_task() -> None:
    opens, clock = Opens(), FakeClock()
    camera = KeptCamera(opens, clock)
    for _ in range(2):
        with camera(of_camera(0)) as source:
            assert source.read() is not None
    assert len(opens.sources) == 1
    assert opens.sources[0].closed == 0
    clock.advance(KEPT_S + 1)
    camera.tick()
    assert opens.sources[0].closed == 1


def test_another_camera_or_a_clip_closes_it() -> None:
    opens = Opens()
    camera = KeptCamera(opens, FakeClock())
    camera(of_camera(0)).close()
    camera(of_camera(1)).close()
    assert [source.closed for source in opens.sources] == [1, 0]
    camera(of_camera(1), Path("a.mp4"))
    assert [source.closed for source in opens.sources] == [1, 1, 0]


@pytest.mark.parametrize("failure", [None, CameraError("gives no more pictures")])
def test_a_camera_that_gives_no_more_is_opened_anew(failure: Any) -> None:
    opens = Opens(failure)
    camera = KeptCamera(opens, FakeClock())
    with camera(of_camera(0)) as source:
        for _ in range(5):
            source.read()
        if failure is None:
            assert source.read() is None
        else:
            with pytest.raises(CameraError):
                source.read()
    assert opens.sources[0].closed == 1
    with camera(of_camera(0)) as source:
        assert source.read() is not None


def test_it_is_not_given_back_while_it_is_used() -> None:
    opens, clock = Opens(), FakeClock()
    camera = KeptCamera(opens, clock)
    camera(of_camera(0))
    clock.advance(10 * KEPT_S)
    camera.tick()
    assert opens.sources[0].closed == 0
