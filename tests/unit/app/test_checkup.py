"""Is everything ready: each device tried, what it gave judged, and the lines and exit code of the command."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Iterator

import numpy as np
import pytest

from trainer.app.checkup import check_everything, light_of
from trainer.app.context import RunContext
from trainer.app.devices import Openers
from trainer.camera_setup.findings import Finding, disk, frame_rate, pose_model, sharpness
from trainer.commands.cli import run
from trainer.domain.observation import Frame
from trainer.errors import CameraError, SoundError
from trainer.feedback.tones import SilentPlayer
from trainer.settings.load import load
from trainer.testing.fakes import FakeClock, FakeTonePlayer, ListSource
from trainer.vision.sources.base import Waiting


class Nobody:
    closed = False

    def find(self, image_bgr: Any) -> None:
        return None

    def close(self) -> None:
        Nobody.closed = True


def frames(count: int) -> Iterator[Frame]:
    random = np.random.default_rng(2)
    for i in range(count):
        yield Frame(i, i / 30, random.integers(0, 255, (120, 160, 3), np.uint8))


ALL_WELL = Openers(
    source=lambda settings, clip=None, paced=True, folder=None: ListSource(frames(20)),
    body=Nobody,
    tones=lambda settings, reporter=None: FakeTonePlayer(lambda: 0.0),
)


def checked(folder: Path, openers: Openers = ALL_WELL) -> dict[str, Finding]:
    found = check_everything(RunContext(load(), folder, folder), openers, FakeClock())
    return {finding.name: finding for finding in found}


def no_camera(*_: object, **__: object) -> Any:
    raise CameraError("not there", "camera 0", "plug it in")


def test_all_well(tmp_path: Path) -> None:
    found = checked(tmp_path)
    states = {name: finding.state for name, finding in found.items()}
    fine = dict.fromkeys(("camera", "rate", "measuring", "motion", "light", "sound", "model", "disk"), "ok")
    assert states == {**fine, "model": "warning"}
    assert list(states) == list(fine)
    assert "30.0 frames/s" in found["rate"].found
    assert "sees nobody" in found["model"].found
    assert Nobody.closed


def test_without_a_camera_the_rest_is_still_tried(tmp_path: Path) -> None:
    found = checked(tmp_path, replace(ALL_WELL, source=no_camera))
    assert found["camera"].words == "not there; plug it in"
    states = {name: finding.state for name, finding in found.items()}
    assert states == {
        "camera": "problem", "rate": "problem", "light": "problem", "sound": "ok", "model": "ok", "disk": "ok",
    }  # fmt: skip


def test_a_camera_that_goes_while_it_is_tried(tmp_path: Path) -> None:
    class Goes(ListSource):
        def ready(self, wait_s: float) -> bool:
            return bool(self._frames)

        def waiting(self) -> Waiting | None:
            return None if self._frames else Waiting("Waiting for the camera", "no picture for 3 s")

    goes = replace(ALL_WELL, source=lambda settings, clip=None, paced=True, folder=None: Goes(frames(5)))
    found = checked(tmp_path, goes)
    assert found["camera"].words == "gave no more pictures; check its cable, then check again"
    assert found["rate"].state == "problem"


def test_sound(tmp_path: Path) -> None:
    silent = replace(ALL_WELL, tones=lambda settings, reporter=None: SilentPlayer("no device"))
    assert checked(tmp_path, silent)["sound"].state == "warning"

    def broken(settings: Any, reporter: Any = None) -> Any:
        raise SoundError("no sound device", "mixer", "choose another")

    assert checked(tmp_path, replace(ALL_WELL, tones=broken))["sound"].words == "no sound device; choose another"


def test_a_folder_that_cannot_be_used(tmp_path: Path) -> None:
    place = tmp_path / "file"
    place.write_text("mine")
    found = checked(place)["disk"]
    assert found.state == "problem"
    assert "--data-folder" in found.todo


def test_light() -> None:
    def plain(level: int) -> Any:
        return np.full((20, 20, 3), level, np.uint8)

    half = plain(100)
    half[:10] = 255
    assert light_of(plain(120)).state == "ok"
    assert (light_of(plain(30)).state, light_of(plain(5)).state) == ("warning", "problem")
    assert "put light on the player" in light_of(plain(30)).words
    assert "behind the player" in light_of(plain(240)).words
    assert "50% pure white" in light_of(half).words


@pytest.mark.parametrize(
    ("finding", "state"),
    [
        (frame_rate(29.6, 30), "ok"),
        (frame_rate(15.0, 30), "warning"),
        (frame_rate(14.9, 30), "problem"),
        (frame_rate(30.0, 60), "warning"),
        (sharpness(5.0), "ok"),
        (pose_model(1.0, 45.0, 60.0, True), "warning"),  # asked every 55 ms
        (pose_model(1.0, 40.0, 60.0, True), "ok"),
        (pose_model(1.0, 45.0, 15.0, True), "ok"),
        (pose_model(1.0, 80.0, 30.0, None), "ok"),
        (disk(10**6, "here"), "warning"),
        (disk(10**10, "here"), "ok"),
    ],
)
def test_where_a_state_begins(finding: Finding, state: str) -> None:
    assert finding.state == state
    assert finding.state == "ok" or finding.todo


def test_the_command_prints_each_and_fails_on_a_problem(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "--camera", "/dev/video97"]) == 2
    out, err = capsys.readouterr()
    assert err == ""
    found = {line[15:].split(":")[0].strip(): line[:15].strip() for line in out.splitlines()}
    assert list(found) == ["camera", "frame rate", "light", "sound", "model", "disk"]
    assert (found["camera"], found["frame rate"], found["light"], found["disk"]) == ("fix",) * 3 + ("ok",)
