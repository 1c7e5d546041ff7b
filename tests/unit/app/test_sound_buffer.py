"""The sound buffer: the smallest that did not run dry and one size more, where the library tells; kept with the loudspeaker."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from trainer.app.context import load_context
from trainer.app.sound_buffer import TRIED, choose_buffer
from trainer.app.sound_check import BEAT_S, CLICKS, SoundRoom, check_sound
from trainer.errors import SoundError
from trainer.live.ports import Reporter, Sounds
from trainer.settings.model import Settings
from trainer.store.sound_memory import FILE, recall_buffer, remember_buffer
from trainer.testing.fakes import FakeClock, FakeReporter, FakeTonePlayer


class RunsDry(FakeTonePlayer):
    """A loudspeaker whose library writes a line for each underrun, as ALSA does, with fewer samples than it needs."""

    def __init__(self, clock: FakeClock, samples: int, needs: int) -> None:
        super().__init__(clock.now)
        self.tells_underruns, self._dry = True, samples < needs

    def play(self, name: str) -> None:
        super().play(name)
        if self._dry:
            os.write(2, b"ALSA lib pcm.c:8675:(snd_pcm_recover) underrun occurred\n")


@pytest.mark.parametrize(("needs", "chosen"), [(1, 256), (300, 1024), (2000, 2048), (5000, 2048)])
def test_one_size_more_than_the_first_that_does_not_run_dry(needs: int, chosen: int) -> None:
    clock = FakeClock()
    assert choose_buffer(lambda samples: RunsDry(clock, samples, needs), clock, "click") == chosen


def test_where_nothing_is_told_none_is_chosen() -> None:
    clock = FakeClock()
    opened: list[FakeTonePlayer] = []

    def opens(samples: int) -> FakeTonePlayer:
        opened.append(FakeTonePlayer(clock.now))
        return opened[-1]

    assert choose_buffer(opens, clock, "click") is None
    assert [player.closed for player in opened] == [1]


class Room:
    """opened: with how many samples the loudspeaker was, in order."""

    def __init__(self, needs: int) -> None:
        self.clock, self._needs = FakeClock(), needs
        self.opened: list[int | None] = []

    def tones(self, settings: Settings, reporter: Reporter | None, sounds: Sounds) -> FakeTonePlayer:
        samples = settings.sound.buffer_samples
        self.opened.append(samples)
        return RunsDry(self.clock, samples or 512, self._needs)

    def check(self, base: Path) -> None:
        def none(*_: object) -> object:
            raise SoundError("not installed", "microphone", "install it")

        begun = len(TRIED[: TRIED.index(256) + 1])
        taps = [2.0 * begun + k * BEAT_S for k in range(CLICKS)]
        check_sound(load_context(base), SoundRoom(self.tones, none, lambda: taps, self.clock), FakeReporter())  # type: ignore[arg-type]


def test_what_was_chosen_is_kept_with_the_loudspeaker_and_used_from_then_on(tmp_path: Path) -> None:
    room = Room(needs=200)
    assert load_context(tmp_path).settings.sound.buffer_samples is None
    room.check(tmp_path)
    assert room.opened[-1] == 512
    assert load_context(tmp_path).settings.sound.buffer_samples == 512
    (tmp_path / "settings.toml").write_text('[sound]\ndevice = "Hall"\n')
    assert load_context(tmp_path).settings.sound.buffer_samples is None  # another loudspeaker
    remember_buffer(tmp_path, "Hall", 1024)
    assert load_context(tmp_path).settings.sound.buffer_samples == 1024
    assert recall_buffer(tmp_path, "") == 512


def test_one_that_the_user_has_set_stays(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text("[sound]\nbuffer_samples = 96\n")
    room = Room(needs=200)
    room.check(tmp_path)
    assert room.opened == [96]
    assert recall_buffer(tmp_path, "") is None


def test_what_is_remembered_may_be_anything(tmp_path: Path) -> None:
    key = "the system's own loudspeaker"
    for text in (
        "",
        "[]",
        f'{{"{key}": 3}}',
        f'{{"{key}": {{"buffer_samples": "x"}}}}',
        f'{{"{key}": {{"buffer_samples": 7}}}}',
    ):
        (tmp_path / FILE).write_text(text)
        assert recall_buffer(tmp_path, "") is None
