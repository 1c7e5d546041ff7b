"""Listening beside the camera: onsets on the frames' clock, a failure that ends the hearing only, and what is opened at all."""

from __future__ import annotations

import shutil
import sys
import threading
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tests.support.made_sounds import RATE_HZ, heard
from tests.support.made_strokes import record
from trainer.app.practice.hearing import Hearing as AppHearing
from trainer.app.practice.hearing import open_hearing
from trainer.domain.record import Measure
from trainer.errors import SoundError
from trainer.hearing.ears import Ears
from trainer.hearing.microphone import Microphone
from trainer.settings.model import Hearing, Settings
from trainer.stroke.click_delay import DRIFT_S
from trainer.stroke.impact_sound import NAME
from trainer.testing.fakes import FakeClock, FakeMicrophone, FakeReporter

WANTED = Settings().changed(hearing=Hearing(microphone=True))


def wait_for(true: Any) -> None:
    """Another thread's work, without a sleep of ours."""
    for _ in range(400):
        if true():
            return
        threading.Event().wait(0.01)
    raise AssertionError("it did not come")


def test_onsets_come_on_the_frames_clock_and_close_gives_the_device_back() -> None:
    made = heard("hard ball, steel", "fan", 30, np.random.default_rng(1), count=3)
    device = FakeMicrophone(made.sound, RATE_HZ, begins_s=50.0)
    ears = Ears(device).start()
    device.play(54.0)

    def plain_s() -> list[float]:
        return [onset.time_s for onset in ears.onsets(50.0, 54.0) if onset.strength_db > 20]

    wait_for(lambda: len(plain_s()) >= 3)
    assert plain_s() == pytest.approx(list(50.0 + made.clicks_s), abs=0.002)
    assert ears.onsets(0.0, 50.0) == ()
    ears.close()
    ears.close()
    assert device.closed == 2
    assert ears.failure is None


def test_what_fails_while_listening_is_told_at_the_end_and_ends_nothing_else(tmp_path: Path) -> None:
    device = FakeMicrophone(np.zeros((RATE_HZ, 2)), RATE_HZ)  # two columns are no mono sound
    reporter = FakeReporter()
    with ExitStack() as opened:
        hearing = open_hearing(WANTED, FakeClock(), lambda settings, clock: device, opened, reporter, tmp_path)
        assert hearing is not None
        device.play(1.0)
        wait_for(lambda: hearing.result())
        assert hearing.result()[0].startswith("the microphone gave out (ValueError)")
    assert reporter.lines == [
        "listening for the click of the ball (made-up microphone): "
        "only when, how loudly and how brightly it clicked is used, no sound is kept"
    ]


def test_at_the_end_it_tells_how_often_it_heard_and_how_late_the_picture_is(tmp_path: Path) -> None:
    with ExitStack() as opened:
        device = FakeMicrophone(np.zeros(RATE_HZ), RATE_HZ)
        hearing = open_hearing(WANTED, FakeClock(), lambda settings, clock: device, opened, FakeReporter(), tmp_path)
        assert hearing is not None
        assert hearing.result() == ()
        told = []
        for later_s in (-0.061, -0.060, None, -0.059, -0.058, -0.062):
            later = Measure(later_s, "s", 0.0, "" if later_s else "no click was heard at impact")
            hearing.impact.learn(replace(record(), measures={**record().measures, NAME: later}))
            told += hearing.result()
    assert told[2] == "the click was heard in 2 of 3 ball strokes; impact is by the picture alone until three agree"
    assert told[5] == "the click was heard in 5 of 6 ball strokes; the picture comes 60 ms after the sound"


def listening(device: FakeMicrophone, base: Path, opened: ExitStack, reporter: FakeReporter) -> AppHearing:
    hearing = open_hearing(WANTED, FakeClock(), lambda settings, clock: device, opened, reporter, base)
    assert hearing is not None
    return hearing


def test_a_second_session_knows_the_delay_of_the_first_and_a_folder_that_cannot_be_written_is_told(
    tmp_path: Path,
) -> None:
    device, reporter, base = FakeMicrophone(np.zeros(RATE_HZ), RATE_HZ), FakeReporter(), tmp_path / "data"
    base.mkdir()
    with ExitStack() as opened:
        first = listening(device, base, opened, reporter)
        for later_s in (-0.061, -0.060, -0.059, -0.058, -0.062):
            later = Measure(later_s, "s", 0.0)
            first.impact.learn(replace(record(), measures={**record().measures, NAME: later}))
        assert listening(device, base, opened, reporter).impact.delay is None  # nothing is kept yet
        first.keep()
        known = listening(device, base, opened, reporter).impact.delay
        assert known is not None
        assert known.value_s == pytest.approx(-0.060)
        assert known.sd_s > DRIFT_S
        other = WANTED.changed(camera=WANTED.camera.model_copy(update={"source": 1}))
        beside = open_hearing(other, FakeClock(), lambda settings, clock: device, opened, reporter, base)
        assert beside is not None
        assert beside.impact.delay is None  # another camera
        shutil.rmtree(base)
        base.write_bytes(b"")
        first.keep()
    assert "cannot be written" in reporter.lines[-1]


def test_it_is_off_unless_wanted_and_none_is_said_in_a_line(tmp_path: Path) -> None:
    def none(settings: Settings, clock: Any) -> Any:
        raise SoundError("none found", "microphone", "connect one")

    reporter = FakeReporter()
    with ExitStack() as opened:
        assert open_hearing(Settings(), FakeClock(), none, opened, reporter, tmp_path) is None
        assert reporter.lines == []
        assert open_hearing(WANTED, FakeClock(), none, opened, reporter, tmp_path) is None
    assert reporter.lines == ["microphone: none found; connect one: impact is by the picture alone"]


def test_without_the_extra_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(SoundError, match=r"putting-trainer\[hearing\]"):
        Microphone(lambda: 0.0)


class FakeSoundDevice:
    """The part of sounddevice that is used, with its own clock."""

    class PortAudioError(Exception):
        pass

    def __init__(self) -> None:
        self.opened: dict[str, Any] = {}
        self.closed = 0

    def query_devices(self, device: Any, kind: str) -> dict[str, Any]:
        if device == "other":
            raise ValueError("No input device matching 'other'")
        return {"index": 3, "name": "desk microphone", "default_samplerate": 48000.0}

    def InputStream(self, **options: Any) -> Any:
        self.opened = options
        return SimpleNamespace(start=lambda: None, close=self._close)

    def _close(self) -> None:
        self.closed += 1


def test_the_streams_own_clock_is_brought_to_that_of_the_frames(monkeypatch: pytest.MonkeyPatch) -> None:
    library = FakeSoundDevice()
    monkeypatch.setitem(sys.modules, "sounddevice", library)
    blocks: list[tuple[int, float]] = []
    microphone = Microphone(lambda: 1000.0)
    microphone.start(lambda block, begins_s: blocks.append((len(block), begins_s)))
    times = SimpleNamespace(currentTime=7.05, inputBufferAdcTime=7.0)
    library.opened["callback"](np.zeros((960, 1), np.float32), 960, times, None)
    assert blocks == [(960, pytest.approx(999.95))]
    assert (microphone.name, microphone.rate_hz, library.opened["device"]) == ("desk microphone", 48000.0, 3)
    microphone.close()
    microphone.close()
    assert library.closed == 1
    with pytest.raises(SoundError, match="none found"):
        Microphone(lambda: 0.0, "other")
