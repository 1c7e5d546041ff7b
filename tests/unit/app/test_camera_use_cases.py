"""Setting up the camera and posture as use cases: source, pose model, window, loudspeaker and clock are handed in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.support.made_address import STILLS, Still, picture, points, truths
from trainer.app.camera_mode import camera_mode
from trainer.app.camera_setup import CameraSetupRequest, CameraSetupResult, remembered, set_up_camera
from trainer.app.context import RunContext, load_context
from trainer.app.devices import Devices, Openers
from trainer.app.posture import Given, PostureRequest, find_posture, judge_picture
from trainer.app.snapshots import compare_snapshots, list_snapshots, set_reference
from trainer.app.students import add_student
from trainer.camera_setup.camera_memory import recall_cost
from trainer.camera_setup.mode_cost import Cost
from trainer.coaching.posture.ranges import DEFAULTS, Ranges
from trainer.domain.observation import Frame
from trainer.errors import ClipError, UsageError
from trainer.feedback.cues import ALL_SET, THERE
from trainer.live.opening import Opening
from trainer.testing.fakes import FakeClock, FakeDisplay, FakeReporter, FakeTonePlayer, ListSource
from trainer.vision.sources.camera_device import Mode


def openers(name: str, seconds: float, ball: bool = True) -> Openers:
    """A camera that shows one still, and its points; ball: false takes it out by the mat around it."""
    image = picture(name)
    if not ball:
        x, y = (round(v) for v in truths()[name]["ball_px"])
        image[y - 11 : y + 8, x - 9 : x + 10] = np.median(
            image[y - 22 : y - 14, x - 14 : x + 15].reshape(-1, 3), axis=0
        )
    frames = [Frame(k, k / 30, image) for k in range(round(30 * seconds))]
    return Openers(
        source=lambda settings, clip=None, paced=True, folder=None: ListSource(frames),
        body=lambda: Still(points(name), image),
        tones=lambda settings, reporter=None: FakeTonePlayer(lambda: 0.0),
        cost=lambda size: Cost(0.0, 0.0, 0.0),
    )


class Room:
    """Devices that remember."""

    def __init__(self, keys: tuple[str, ...] = ()) -> None:
        self.display = FakeDisplay(lambda: 0.0, keys)
        self.tones = FakeTonePlayer(lambda: 0.0)
        self.reporter = FakeReporter()
        self.devices = Devices(self.display, self.tones, self.reporter)

    @property
    def sounds(self) -> list[str]:
        return [name for _, name in self.tones.played]


@pytest.fixture
def robin(tmp_path: Path) -> RunContext:
    """A data folder with this student."""
    add_student(load_context(tmp_path), "Robin", {})
    return load_context(tmp_path, "Robin")


# ---- setting up


def set_up(context: RunContext, room: Room, **options: Any) -> CameraSetupResult:
    request = CameraSetupRequest(context, **options)
    return set_up_camera(request, room.devices, openers("s03", 4.5), FakeClock())


def test_it_ends_with_the_bells_and_remembers_the_camera(robin: RunContext) -> None:
    room = Room()
    result = set_up(robin, room)
    assert (result.done, result.view, result.changed, result.left) == (True, "face-on", "", [])
    assert room.sounds[-1] == ALL_SET
    assert room.display.shown[-1][1].done
    assert any(line.startswith("ok ") and "Putter:" in line for line in room.reporter.lines)
    known = remembered(robin)
    assert known is not None
    assert known.view == "face-on"


def test_the_best_mode_is_kept_reported_and_used(robin: RunContext) -> None:
    room = Room()
    set_up(robin, room)  # stills of 640 by 480 at 30 a second
    assert room.reporter.lines[0] == "640x480 at 30 frames/s is the best that it gives and this computer keeps up with"
    assert camera_mode(robin.settings.camera, robin.base) == Mode(640, 480, 30.0)
    assert recall_cost(robin.base, "0") == Cost(0.0, 0.0, 0.0)  # as measured
    told = robin.settings.camera.model_copy(update={"width": 320, "height": 240, "fps": 15.0})
    assert camera_mode(told, robin.base) == Mode(320, 240, 15.0)


def test_of_a_camera_that_gives_nothing_no_mode_is_told(robin: RunContext) -> None:
    room, none = Room(), replace(openers("s03", 0.0), source=lambda *_, **__: ListSource(()))
    assert set_up_camera(CameraSetupRequest(robin), room.devices, none, FakeClock()).words == "no picture came"
    assert room.reporter.lines == []


def test_what_is_left_is_a_finding_and_nothing_is_remembered(robin: RunContext) -> None:
    room = Room()
    result = set_up(robin, room, view="down-the-line")
    assert not result.done
    assert [finding.name for finding in result.left if finding.state == "problem"] == ["view"]
    assert any(line.split()[:2] == ["fix", "View:"] for line in room.reporter.lines)
    assert remembered(robin) is None


def test_the_user_may_end_it(robin: RunContext) -> None:
    room = Room(("quit",))
    assert set_up(robin, room) == CameraSetupResult(False)
    assert [type(view) for _, view in room.display.shown] == [Opening]


# ---- posture


def photo(context: RunContext, name: str, **more: Any) -> PostureRequest:
    return PostureRequest(context, Given(), STILLS / f"{name}.jpg", student="Robin", **more)


def test_a_photo_is_judged_kept_and_compared(robin: RunContext) -> None:
    reports = [
        judge_picture(photo(robin, name, save=True, label=label), openers(name, 0.0))
        for name, label in (("s04", "before"), ("s08", "after"))
    ]
    assert all(report.saved for report in reports)
    assert {row.reference for row in reports[0].rows} == {None}
    assert reports[0].as_json()["view"] == "down-the-line"
    assert set_reference(robin, "Robin", "after", ranges=True).ranges_set == len(reports[1].checks)
    again = judge_picture(photo(robin, "s08"), openers("s08", 0.0))
    assert again.saved == ""
    assert all(row.reference is not None for row in again.rows)
    found = list_snapshots(robin, "Robin")
    assert [snapshot.label for snapshot in found.snapshots] == ["before", "after"]
    assert found.references == {reports[1].saved}
    comparison = compare_snapshots(robin, "Robin", ("before", "reference"))
    assert (comparison.before.title, comparison.after.title) == ("before", "after")
    assert all(len(row) == 6 for row in comparison.rows)
    with pytest.raises(UsageError, match="the same posture twice"):
        compare_snapshots(robin, "Robin", ("after", "reference"))
    with pytest.raises(UsageError, match="--student"):
        list_snapshots(robin, None)


def test_a_clip_gives_its_first_still_address_or_the_second_asked_for(robin: RunContext) -> None:
    clip = PostureRequest(robin, Given(), clip=Path("a.mp4"))
    assert judge_picture(clip, openers("s04", 1.0)).source.startswith("a.mp4 at 0.")
    assert judge_picture(replace(clip, at_s=0.5), openers("s04", 1.0)).source == "a.mp4 at 0.50 s"
    with pytest.raises(ClipError, match="over before 5 s"):
        judge_picture(replace(clip, at_s=5.0), openers("s04", 1.0))
    with pytest.raises(ClipError, match="no still address"):
        judge_picture(clip, openers("s04", 0.1))


def test_a_clip_without_a_ball_gives_what_needs_none(robin: RunContext) -> None:
    found = judge_picture(PostureRequest(robin, Given(), clip=Path("a.mp4")), openers("s02", 1.0, ball=False))
    assert any(hint.what == "no ball seen" for hint in found.hints)
    judged = {row.title for row in found.rows if row.state != "not judged"}
    assert {"Spine", "Knees"} <= judged


def test_live_sounds_and_keeps_a_picture_when_all_is_well(robin: RunContext) -> None:
    wide = Ranges.model_validate(
        {table: {name: {"low": r.lowest, "high": r.highest} for name, r in ranges} for table, ranges in DEFAULTS}
    )
    context = replace(robin, settings=robin.settings.model_copy(update={"posture": wide}))
    room = Room()
    request = PostureRequest(context, Given(), student="Robin", save=True, label="live")
    find_posture(request, room.devices, openers("s02", 2.5))
    assert room.sounds == [THERE]
    assert [line.partition(":")[0] for line in room.reporter.lines][:1] == ["Hold it"]
    assert sum(line.startswith("kept as ") for line in room.reporter.lines) == 1
    assert [snapshot.label for snapshot in list_snapshots(robin, "Robin").snapshots] == ["live"]
    assert sum(not isinstance(view, Opening) for _, view in room.display.shown) == 75
