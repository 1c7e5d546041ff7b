"""What plays the sounds: the very samples that would be heard, and when; every device shape; no device at all."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
import wave
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pygame
import pytest

from tests.support.paths import ROOT
from trainer.errors import SoundError
from trainer.feedback.loudspeakers import loudspeakers, usual_loudspeaker
from trainer.feedback.make_sounds import RATE_HZ
from trainer.feedback.tones import MixerPlayer, Muting, SilentPlayer, load_sounds, open_player, shaped
from trainer.resources import data_path
from trainer.testing.fakes import FakeTonePlayer


def wav(name: str) -> np.ndarray:
    with wave.open(str(data_path("sounds", f"{name}.wav"))) as file:
        return np.frombuffer(file.readframes(file.getnframes()), "<i2")


def find(sound: np.ndarray, stream: np.ndarray) -> list[int]:
    """Where ``sound`` begins in ``stream``, sample for sample (found by its loudest one: the first are zero)."""
    probe = int(np.abs(sound).argmax())
    places = np.flatnonzero(stream == sound[probe]) - probe
    return [int(p) for p in places if p >= 0 and np.array_equal(stream[p : p + len(sound)], sound)]


@pytest.fixture
def disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """SDL writes what would be heard into a file, a buffer every millisecond."""
    import pygame

    path = tmp_path / "heard.raw"
    pygame.mixer.quit()
    monkeypatch.setenv("SDL_AUDIODRIVER", "disk")
    monkeypatch.setenv("SDL_DISKAUDIOFILE", str(path))
    monkeypatch.setenv("SDL_DISKAUDIODELAY", "1")
    return path


def wait_for(condition: object, limit_s: float = 20.0) -> None:
    """Waits for the audio thread, which runs by itself, with a deadline."""
    until = time.monotonic() + limit_s
    while not condition():  # type: ignore[operator]
        assert time.monotonic() < until, "nothing was played"
        threading.Event().wait(0.002)


def test_the_very_samples_are_heard_in_order(disk: Path) -> None:
    player = open_player("mixer", volume=1.0, buffer_samples=256)
    assert isinstance(player, MixerPlayer)
    assert (player.rate_hz, player.format, player.channels) == (RATE_HZ, -16, 1)
    played = ("early_look", "hand_stall", "hold_done")
    for name in played:
        player.play(name)
        played_out()
    player.close()
    player.close()
    player.play("lift")  # too late, and no harm
    stream = np.fromfile(disk, "<i2")
    places = []
    for name in played:
        found = find(wav(name), stream)
        assert len(found) == 1, name
        places += found
    assert places == sorted(places)
    assert all(p % 256 == 0 for p in places)  # sounds begin at a buffer's edge, so a small buffer is a quick one
    heard = np.zeros(len(stream), bool)
    for name, place in zip(played, places, strict=True):
        heard[place : place + len(wav(name))] = True
    assert not stream[~heard].any()  # and silence otherwise


def played_out() -> None:
    """Until no channel of the mixer plays any more."""
    wait_for(lambda: not pygame.mixer.get_busy())


def test_a_sound_begins_within_the_next_buffers(disk: Path) -> None:
    player = open_player("mixer", volume=1.0, buffer_samples=256)
    wait_for(lambda: disk.exists() and disk.stat().st_size > 40_000)
    before = disk.stat().st_size // 2
    player.play("early_look")
    played_out()
    player.close()
    (place,) = find(wav("early_look"), np.fromfile(disk, "<i2"))
    # What the file had not yet been given is at most the C library's buffer of 4096 bytes and two of the mixer's.
    assert 0 <= place - before <= 2048 + 2 * 256 + 256


def test_a_new_sound_cuts_the_old_one_off(disk: Path) -> None:
    player = open_player("mixer", volume=1.0)
    player.play("hold_done")
    player.play("recoil")
    played_out()
    player.close()
    stream = np.fromfile(disk, "<i2")
    assert len(find(wav("recoil"), stream)) == 1
    assert find(wav("hold_done"), stream) == []


def test_volume(disk: Path) -> None:
    player = open_player("mixer", volume=0.5)
    player.play("recoil")
    played_out()
    player.close()
    assert np.abs(np.fromfile(disk, "<i2")).max() == pytest.approx(0.5 * np.abs(wav("recoil")).max(), rel=0.02)


@pytest.mark.parametrize(("rate", "channels"), [(48_000, 2), (22_050, 1), (44_100, 2)])
def test_sounds_are_shaped_to_what_the_device_gives(monkeypatch: pytest.MonkeyPatch, rate: int, channels: int) -> None:
    """A device of 48 kHz stereo: played as they are, sounds would be half as long and of another pitch."""
    import pygame

    pygame.mixer.quit()
    real = pygame.mixer.init
    monkeypatch.setattr(pygame.mixer, "init", lambda *asked: real(rate, -16, channels, 512))
    player = MixerPlayer(load_sounds(), 1.0, 256)
    assert (player.rate_hz, player.channels) == (rate, channels)
    for name, sound in player._sounds.items():
        assert sound.get_length() == pytest.approx(len(wav(name)) / RATE_HZ, abs=0.001)
    assert str(rate) in player.description
    player.close()


@pytest.mark.parametrize(
    ("sample_format", "dtype", "zero", "top"),
    [(-16, "i2", 0, 32767), (16, "u2", 32768, 65535), (-8, "i1", 0, 127), (8, "u1", 128, 255), (32, "f4", 0.0, 1.0)],
)
def test_every_sample_format(sample_format: int, dtype: str, zero: float, top: float) -> None:
    data = np.array([0.0, 1.0, -1.0, 2.0], np.float32)
    got = np.frombuffer(shaped(data, RATE_HZ, sample_format, 2), dtype).reshape(-1, 2)
    assert (got[:, 0] == got[:, 1]).all()
    assert got[0, 0] == zero
    assert got[1, 0] == top
    assert got[3, 0] == top  # too loud is clipped, never wrapped round
    assert float(got[2, 0]) == pytest.approx(2 * zero - top)


def test_another_rate_keeps_the_pitch() -> None:
    seconds = 0.5
    data = np.sin(2 * np.pi * 1000 * np.arange(int(RATE_HZ * seconds)) / RATE_HZ).astype(np.float32)
    got = np.frombuffer(shaped(data, 48_000, -16, 1), "i2")
    assert len(got) == pytest.approx(48_000 * seconds, abs=2)
    spectrum = np.abs(np.fft.rfft(got * np.hanning(len(got))))
    assert np.fft.rfftfreq(len(got), 1 / 48_000)[spectrum.argmax()] == pytest.approx(1000, abs=2)


def refuse(*args: object) -> None:
    import pygame

    raise pygame.error("ALSA: Couldn't open audio device: No such file or directory")


def test_no_sound_device_is_said_once_and_all_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    import pygame

    monkeypatch.setattr(pygame.mixer, "init", refuse)
    monkeypatch.setitem(sys.modules, "simpleaudio", None)
    said: list[str] = []
    player = open_player("auto", report=said.append)
    assert isinstance(player, SilentPlayer)
    assert len(said) == 1
    assert "signs" in said[0]
    assert "no sound device" in player.description
    player.play("recoil")
    player.play("hold_done")
    player.close()
    assert len(said) == 1
    assert not Muting(player).can_sound


def test_a_back_end_asked_for_by_name_must_work(monkeypatch: pytest.MonkeyPatch) -> None:
    import pygame

    monkeypatch.setattr(pygame.mixer, "init", refuse)
    with pytest.raises(SoundError, match="no sound device") as caught:
        open_player("mixer")
    assert "\n" not in str(caught.value)


def test_auto_tries_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    import pygame

    played: list[bytes] = []

    class Played:
        def wait_done(self) -> None:
            return

    library = ModuleType("simpleaudio")
    library.__dict__["play_buffer"] = lambda data, *_: played.append(data) or Played()
    monkeypatch.setattr(pygame.mixer, "init", refuse)
    monkeypatch.setattr(sys, "version_info", (3, 11, 0))
    monkeypatch.setitem(sys.modules, "simpleaudio", library)
    player = open_player("auto", volume=1.0)
    assert player.description.startswith("simpleaudio")
    player.play("recoil")
    assert played[-1] == wav("recoil").tobytes()


def test_silence_on_request() -> None:
    said: list[str] = []
    assert isinstance(open_player("silent", report=said.append), SilentPlayer)
    assert isinstance(open_player("auto", volume=0.0, report=said.append), SilentPlayer)
    assert said == []


def test_mute() -> None:
    fake = FakeTonePlayer(lambda: 0.0)
    player = Muting(fake)
    player.play("recoil")
    player.muted = True
    player.play("sway")
    player.muted = False
    player.play("lift")
    assert [name for _, name in fake.played] == ["recoil", "lift"]
    player.close()
    assert fake.closed == 1


def test_simpleaudio_is_refused_where_it_crashes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 12, 0))
    with pytest.raises(SoundError, match="crashes"):
        open_player("simpleaudio")


def test_simpleaudio_not_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 11, 0))
    monkeypatch.setitem(sys.modules, "simpleaudio", None)
    with pytest.raises(SoundError, match="not installed"):
        open_player("simpleaudio")


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="simpleaudio 1.0.4 crashes Python 3.12 when it plays")
@pytest.mark.skipif(sys.platform != "linux", reason="needs ALSA, which can play into a file")
@pytest.mark.parametrize("name", ["recoil", "early_look"])
def test_simpleaudio_plays_the_very_samples(tmp_path: Path, name: str) -> None:
    pytest.importorskip("simpleaudio", reason="the optional extra simpleaudio is not installed")
    heard = tmp_path / "heard.raw"
    settings = tmp_path / "alsa.conf"
    settings.write_text(
        "pcm.nothing { type null }\nctl.!default { type hw card 0 }\n"
        f'pcm.!default {{ type file slave.pcm "nothing" file "{heard}" format "raw" }}\n'
    )
    code = (
        "from trainer.feedback.tones import open_player\n"
        "player = open_player('simpleaudio', volume=1.0)\n"
        f"player.play({name!r}); player._playing.wait_done()\n"
        "player.close(); print(player.description)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, "ALSA_CONFIG_PATH": str(settings)},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    assert "simpleaudio" in done.stdout
    # It opens the device anew for each sound, and ALSA then starts the file anew.
    assert find(wav(name), np.fromfile(heard, "<i2")) == [0]


def test_the_loudspeaker_that_was_chosen_plays_and_one_that_is_gone_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    pygame.mixer.quit()
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    (name,) = loudspeakers()
    said: list[str] = []
    player = open_player("mixer", device=name, report=said.append)
    player.close()
    assert (said, name in player.description) == ([], True)
    player = open_player("mixer", device="Hall", report=said.append)
    player.close()
    assert isinstance(player, MixerPlayer)
    assert "Hall" not in player.description
    assert said == ["Hall does not play now: the tones come from the system's own loudspeaker"]


class FakeSdl:
    """The one call that is used. said: the default's name; None: not told, as with ALSA."""

    def __init__(self, said: bytes | None) -> None:
        self._said = said

    def SDL_GetDefaultAudioInfo(self, name: Any, spec: Any, recording: int) -> int:
        if self._said is None:
            return -1
        name._obj.value = self._said
        return 0


def test_what_is_kept_of_the_systems_own_loudspeaker_is_kept_under_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    pygame.mixer.quit()
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    assert usual_loudspeaker(FakeSdl("Kopfhörer".encode())) == "Kopfhörer"
    (only,) = loudspeakers()
    assert usual_loudspeaker(FakeSdl(None)) == usual_loudspeaker(object()) == only
    player = open_player("mixer")
    player.close()
    assert player.description.startswith(f"mixer, {only}, ")
    assert usual_loudspeaker() == only  # by pygame's own SDL, which tells nothing of this driver
    monkeypatch.setenv("SDL_AUDIODRIVER", "none of this name")
    assert usual_loudspeaker(FakeSdl(None)) == "the system's own loudspeaker"
