"""A played phone as the camera of setting up, of posture, of the second view, and of the start window's practice."""

from __future__ import annotations

from contextlib import nullcontext
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from tests.support.made_address import Still, picture, points
from tests.support.phone_client import jpeg_of
from tests.support.played_phone import FPS, PlayedPhone
from tests.support.practice_stage import Watches, positions, stroke
from tests.support.start_stage import StartStage
from tests.unit.app.test_camera_use_cases import Room
from trainer.app.camera_setup import CameraSetupRequest, remembered, set_up_camera
from trainer.app.context import RunContext
from trainer.app.devices import Devices, Openers
from trainer.app.posture import Given, PostureRequest, find_posture
from trainer.app.practice.practice import Machine
from trainer.camera_setup.camera_memory import remember
from trainer.camera_setup.setup_findings import SetupFacts
from trainer.commands.practice import PracticeOptions, practised
from trainer.domain.perspective import CameraView
from trainer.feedback.cues import ALL_SET
from trainer.posture.guidance import PostureState
from trainer.settings.load import from_options, load
from trainer.testing.fakes import FakeClock, FakeReporter, FakeTonePlayer
from trainer.ui.drawing.window import NoWindow
from trainer.vision.camera_geometry.tilt import TiltSeen
from trainer.vision.sources.base import Source

PHONE = load([from_options(camera__source="phone", camera__fps=FPS)])
SETUP_PICTURES, POSTURE_PICTURES, SECOND_PICTURES = 90, 12, 25


def as_jpeg(image: Any) -> bytes:
    done, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, 95])
    assert done
    return bytes(data.tobytes())


class Opens:
    """A machine whose camera is a phone that films a player who stands still."""

    def __init__(self, folder: Path, name: str, pictures: int) -> None:
        jpeg = as_jpeg(picture(name))
        image = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
        self.clock = FakeClock(100.0)
        self.phone = PlayedPhone(folder, self.clock, jpeg, pictures)
        self.openers = Openers(
            source=lambda settings, clip=None, paced=True, folder=None: self.phone,
            body=lambda: Still(points(name), image),
            tones=lambda settings, reporter=None: FakeTonePlayer(lambda: 0.0),
        )


def test_set_up_by_a_phone_and_remembered(tmp_path: Path) -> None:
    room, opens = Room(), Opens(tmp_path, "s03", SETUP_PICTURES)
    context = RunContext(PHONE, tmp_path, tmp_path)
    result = set_up_camera(CameraSetupRequest(context), room.devices, opens.openers, opens.clock)
    opens.phone.put_away()
    assert (result.done, result.view, result.left) == (True, "face-on", [])
    assert room.sounds[-1] == ALL_SET
    assert room.reporter.lines[0].startswith("phone: open this on the phone; ")
    assert room.reporter.lines.count("phone: pictures come") == 1
    known = remembered(context)
    assert known is not None
    assert known.size == (640, 480)


def test_posture_by_a_phone_that_was_set_up(tmp_path: Path) -> None:
    """It knows how the phone stood, though no picture had come when it was opened."""
    context = RunContext(PHONE, tmp_path, tmp_path)
    stood = TiltSeen(CameraView(700.0, (320.0, 240.0), "face-on", roll_deg=1.25, pitch_deg=-3.5), 1.0, 1.0, 0.0)
    facts = SetupFacts(distance_cm=280.0, height_cm=60.0)
    remember(tmp_path, "phone", facts, stood, datetime.now(timezone.utc))
    room, opens = Room(), Opens(tmp_path, "s03", POSTURE_PICTURES)
    find_posture(PostureRequest(context, Given()), room.devices, opens.openers)
    opens.phone.put_away()
    states = [view for _, view in room.display.shown if isinstance(view, PostureState)]
    assert len(states) == POSTURE_PICTURES
    seen = states[-1].seen
    assert seen is not None
    assert (seen.camera.roll_deg, seen.camera.pitch_deg) == (1.25, -3.5)


def test_two_phones_film_both_views(tmp_path: Path) -> None:
    """Each has an address of its own."""
    clock, jpeg, reporter = FakeClock(100.0), jpeg_of(1, 160, 120), FakeReporter()
    side = PlayedPhone(tmp_path, clock, jpeg, SECOND_PICTURES)
    front = PlayedPhone(tmp_path, clock, jpeg, SECOND_PICTURES, after=side)
    seen = stroke()
    devices = nullcontext(Devices(NoWindow(), FakeTonePlayer(clock.now), reporter))
    machine = Machine(
        lambda settings, sounds, window: devices,
        lambda settings, clip=None, paced=True, folder=None: front if settings.camera.view == "face-on" else side,
        lambda settings: Watches(seen),
        clock,
    )
    outcome = practised(tmp_path, PracticeOptions(window=False, camera="phone", second_camera="phone"), machine)
    for phone in (front, side):
        phone.put_away()
        assert phone.given == SECOND_PICTURES
    assert outcome.failure is None
    assert outcome.summary.frames == SECOND_PICTURES
    assert len([line for line in reporter.lines if line.startswith("https://")]) == 2
    assert "second camera: down-the-line" in reporter.lines


class PhoneStage(StartStage):
    """The start window beside a player with a phone."""

    phone: PlayedPhone

    def _source(
        self, settings: Any, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        webcam = super()._source(settings, clip, paced, folder)
        return self.phone if settings.camera.source == "phone" else webcam


def test_the_start_windows_phone_stays_linked_from_its_page_into_practice(tmp_path: Path) -> None:
    stage = PhoneStage(tmp_path / "here", tmp_path)
    stage.phone = PlayedPhone(tmp_path, FakeClock(100.0), jpeg_of(1, 160, 120), 1000)
    stage.type("Robin")
    stage.click("Next")
    stage.opened = 0
    stage.click("A phone")
    while not stage.phone.given:  # linked by what the page shows
        stage.picture()
    stage.click("Skip all of it")
    stage.phone.pictures = stage.phone.given + SECOND_PICTURES
    stage.putt(positions((None, 40.0)))
    stage.click("Free practice")
    stage.phone.put_away()
    assert stage.title == "Robin: 0 strokes"
    assert stage.opened == 1
    assert stage.phone.given == stage.phone.pictures
    stage.close()
