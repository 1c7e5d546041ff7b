"""How late a sound is heard: told by a microphone on made-up sound, by taps, and kept with the loudspeaker."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any, Sequence

import numpy as np
import pytest

from tests.support.made_sounds import RATE_HZ, fan
from tests.support.practice_stage import Stage, StageDisplay, stroke
from trainer.app.context import load_context
from trainer.app.practice.practice import heard_line
from trainer.app.sound_check import (
    BEAT_S,
    CLICKS,
    SoundRoom,
    by_microphone,
    by_taps,
    check_sound,
    click_sound,
    play_clicks,
)
from trainer.commands.practice import PracticeOptions, practise
from trainer.domain.sound import Onset
from trainer.errors import SoundError
from trainer.feedback.make_sounds import RATE_HZ as SOUND_HZ
from trainer.feedback.tones import SilentPlayer
from trainer.hearing.onset import OnsetFinder
from trainer.store.sound_memory import FILE, recall_delay, remember_delay
from trainer.testing.fakes import FakeClock, FakeReporter, FakeTonePlayer


class Loudspeaker(FakeTonePlayer):
    """Its clicks come ``late_s`` after their call into the sound that a microphone gives."""

    def __init__(self, clock: FakeClock, late_s: float) -> None:
        super().__init__(clock.now)
        self._late_s = late_s
        self.sound = 0.002 * fan(round((CLICKS + 1) * BEAT_S * RATE_HZ), np.random.default_rng(1))

    def play(self, name: str) -> None:
        super().play(name)
        at = self.played[-1][0]
        click = np.interp(np.arange(0, 0.03, 1 / RATE_HZ), np.arange(len(click_sound())) / SOUND_HZ, click_sound())
        first = round((at + self._late_s) * RATE_HZ)
        self.sound[first : first + len(click)] += 0.1 * click


def no_microphone(*_: Any) -> Any:
    raise SoundError("not installed", "microphone", "pip install 'putting-trainer[hearing]'")


def no_taps() -> Sequence[float]:
    return ()


def test_taps_tell_about_how_late_it_is() -> None:
    called = [k * BEAT_S for k in range(CLICKS)]
    rng = np.random.default_rng(2)
    taps = [at + 0.21 - 0.05 + rng.normal(0, 0.02) for at in called]
    found = by_taps(called, taps)
    assert found is not None
    assert found.delay_s == pytest.approx(0.21, abs=0.03)
    assert found.sd_s >= 0.03
    assert "use a cable" in found.words
    assert by_taps(called, taps[:4]) is None
    assert by_taps(called, list(rng.uniform(0, 8, 9))) is None


def test_without_a_microphone_the_enter_key_is_asked_for_and_the_outcome_kept(tmp_path: Path) -> None:
    clock, reporter = FakeClock(), FakeReporter()
    player = FakeTonePlayer(clock.now)
    taps = [k * BEAT_S + 0.02 for k in range(CLICKS)]
    room = SoundRoom(lambda *_: player, no_microphone, lambda: taps, clock)
    context = load_context(tmp_path)
    found = check_sound(context, room, reporter)
    assert found is not None
    assert found.delay_s == pytest.approx(0.07)
    assert reporter.lines == [
        "microphone: not installed; pip install 'putting-trainer[hearing]': tap the Enter key to the beat of the clicks",
        "a tone is in the air about 70 ms after it is called (7 of 9 taps)",
    ]
    assert recall_delay(tmp_path, player.description) == pytest.approx(0.07)
    assert len(player.played) == CLICKS
    assert check_sound(context, SoundRoom(lambda *_: player, no_microphone, no_taps, clock), reporter) is None
    assert reporter.lines[-1].startswith("too few taps came with the clicks")


def test_without_a_loudspeaker_there_is_nothing_to_check(tmp_path: Path) -> None:
    room = SoundRoom(lambda *_: SilentPlayer("no device"), no_microphone, no_taps, FakeClock())
    with pytest.raises(SoundError, match="there is no loudspeaker"):
        check_sound(load_context(tmp_path), room, FakeReporter())


def test_what_is_remembered_may_be_anything(tmp_path: Path) -> None:
    assert recall_delay(tmp_path, "mixer") is None
    remember_delay(tmp_path, "mixer", 0.123)
    remember_delay(tmp_path, "other", 0.01)
    assert (recall_delay(tmp_path, "mixer"), recall_delay(tmp_path, "other")) == (0.123, 0.01)
    for text in ("", "[]", '{"mixer": 3}', '{"mixer": {"delay_s": "late"}}', '{"mixer": {"delay_s": 1e9}}', "[" * 5000):
        (tmp_path / FILE).write_text(text)
        assert recall_delay(tmp_path, "mixer") is None


def test_practice_counts_it_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From `check --sound` to the summary: a head that turns in the follow-through, on a loudspeaker that adds 0.07 s."""
    clock, stage = FakeClock(), Stage(stroke(hold_s=-0.6), StageDisplay())
    taps = [k * BEAT_S + 0.02 for k in range(CLICKS)]
    room = SoundRoom(lambda *_: stage.tones, no_microphone, lambda: taps, clock)
    assert check_sound(load_context(tmp_path), room, FakeReporter()) is not None
    assert practise(tmp_path, PracticeOptions(schedule="every"), replace(stage.machine, clock=clock)) == 0
    assert "early_look" in [name for _, name in stage.tones.played]
    told = capsys.readouterr().out
    (found,) = re.findall(r"cues were heard ([0-9.]+) s after the limit, 0.07 s of it by the loudspeaker", told)
    assert 0.07 < float(found) <= 0.07 + 0.10  # the frames until it is sure, on a clock that stands still meanwhile
    assert heard_line(None, 0.2) == heard_line(0.03, None) == ()


def test_a_microphone_hears_the_clicks_and_other_sounds_do_not_count(tmp_path: Path) -> None:
    clock = FakeClock()
    player = Loudspeaker(clock, 0.183)
    called = play_clicks(player, clock)
    finder = OnsetFinder(RATE_HZ)
    heard = finder.feed(player.sound, 0.0)
    heard += [Onset(at + 0.4, 5.0) for at in called[::2]]  # something fainter

    class Ears:
        def onsets(self, first_s: float, last_s: float) -> Sequence[Onset]:
            return [o for o in heard if first_s <= o.time_s <= last_s]

    found = by_microphone(called, Ears())
    assert found is not None
    assert found.delay_s == pytest.approx(0.183, abs=0.002)
    assert found.heard >= CLICKS - 1
    heard[:] = [Onset(at + d, 20.0) for at, d in zip(called, np.linspace(0.0, 0.5, CLICKS), strict=True)]
    assert by_microphone(called, Ears()) is None  # none alike
