"""A phone asked for as the camera: by option, by setting, in a check; and none opened where it was not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.support.phone_client import PhoneClient
from tests.unit.app.test_checkup import Nobody
from trainer.app.checkup import check_everything
from trainer.app.context import RunContext
from trainer.app.devices import Openers, open_source
from trainer.app.phone import sounds
from trainer.app.practice.two_cameras import second_camera_request
from trainer.commands.check import check
from trainer.commands.practice import practice
from trainer.errors import UsageError
from trainer.feedback.tones import SOUND_NAMES
from trainer.settings.load import from_options, load
from trainer.settings.model import Settings
from trainer.testing.fakes import FakeReporter, FakeTonePlayer
from trainer.vision.sources.base import MonotonicClock
from trainer.vision.sources.camera import Camera
from trainer.vision.sources.phone.source import PhoneCamera
from trainer.worker import Worker


def settings_of(**options: object) -> Settings:
    return load([from_options(**options)])


def here() -> Settings:
    return settings_of(camera__source="phone", phone__address="127.0.0.1", phone__port=0)


def test_the_setting_makes_the_phone_the_camera(tmp_path: Path) -> None:
    phone = open_source(settings_of(camera__source="phone", camera__fps=60.0, camera__width=1280), folder=tmp_path)
    assert isinstance(phone, PhoneCamera)
    assert (phone._options.rate, phone._options.width, phone._options.port) == (60.0, 1280, 8443)
    assert phone.link is None, "nothing is opened before it is started"
    assert isinstance(open_source(settings_of(camera__source=1), folder=tmp_path), Camera)
    assert list(tmp_path.iterdir()) == []


def test_the_phone_is_lent_every_sound() -> None:
    found = sounds()
    assert set(found) == set(SOUND_NAMES)
    assert all(data[:4] == b"RIFF" for data in found.values())


@pytest.mark.parametrize("command", [check, practice])
def test_a_camera_or_a_phone(command: Any) -> None:
    done = CliRunner().invoke(command, ["--camera", "1", "--phone"])
    assert isinstance(done.exception, UsageError)
    assert str(done.exception) == "--camera, --phone: a camera and a phone at once; give one of them"


def test_two_phones_may_film_but_not_one_camera_twice() -> None:
    request = second_camera_request("phone", None, None, "phone", None)
    assert request is not None
    assert request.name == "phone"
    with pytest.raises(UsageError):
        second_camera_request(1, None, None, 1, None)


class Links(FakeReporter):
    """A user who opens the address that is told, on a phone that films until it is ended."""

    def __init__(self) -> None:
        super().__init__()
        self.worker: Worker | None = None

    def report(self, line: str) -> None:
        super().report(line)
        if line.startswith("https://"):
            self.worker = Worker("user's phone", lambda stop: self._film(line, stop))
            self.worker.start()

    def _film(self, address: str, stop: Any) -> None:
        from websockets.exceptions import ConnectionClosed

        clock, number = MonotonicClock(), 0
        with PhoneClient(address, clock.now) as phone:
            try:
                while not stop.wait(1 / 30):
                    number += 1
                    phone.show(number, clock.now())
            except ConnectionClosed:
                return


def test_a_check_waits_for_the_phone_and_tells_of_it(tmp_path: Path) -> None:
    user = Links()
    openers = Openers(body=Nobody, tones=lambda settings, reporter=None: FakeTonePlayer(lambda: 0.0))
    found = {f.name: f for f in check_everything(RunContext(here(), tmp_path, tmp_path), openers, None, user)}
    assert user.worker is not None
    user.worker.stop()
    assert user.worker.join(10.0)
    assert found["camera"].words == "phone gives 640x480"
    assert found["camera"].state == "ok"
    assert user.lines[0] == "phone: open this on the phone; it warns of a certificate made at home: go on all the same"
    assert sum(line.startswith("https://127.0.0.1:") for line in user.lines) == 1
    assert (tmp_path / "phone" / "certificate.pem").exists()
