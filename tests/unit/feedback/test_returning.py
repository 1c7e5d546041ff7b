"""A loudspeaker that fails at any call and comes back: said once each way, and nothing is raised."""

from __future__ import annotations

import random
import threading
from dataclasses import dataclass, field

import pytest

from trainer.errors import SoundError
from trainer.feedback.returning import BACK, GONE, ReturningPlayer
from trainer.feedback.tones import DEVICE_CAME, DEVICE_LOST, Muting, SilentPlayer, TonePlayer


@dataclass
class Room:
    """Has a loudspeaker or none. What it plays is in ``heard``, what is said in ``lines``."""

    there: bool = True
    heard: list[str] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)

    def open(self) -> TonePlayer:
        if not self.there:
            raise SoundError("no sound device", "room", "connect one")
        return Loudspeaker(self)

    def player(self) -> ReturningPlayer:
        return ReturningPlayer(self.open() if self.there else SilentPlayer(), self.open, self.lines.append)


@dataclass
class Loudspeaker:
    """Raises at every call while it is gone."""

    room: Room
    description: str = "of the room"

    def play(self, name: str) -> None:
        if not self.room.there:
            raise RuntimeError("buffer underrun")
        self.room.heard.append(name)

    def close(self) -> None:
        if not self.room.there:
            raise OSError("gone")


def test_gone_and_back_is_said_once_each_and_the_sign_stands_meanwhile() -> None:
    room = Room()
    player = room.player()
    muting = Muting(player)
    muting.play("early_look")
    assert muting.can_sound
    room.there = False
    for _ in range(5):
        muting.play("lost")
        assert player.settled()
        assert not muting.can_sound
    room.there = True
    muting.play("found out too late")
    assert player.settled()
    for _ in range(3):
        muting.play("sway")
    assert muting.can_sound
    assert room.heard == ["early_look", "sway", "sway", "sway"]
    assert room.lines == [GONE, BACK]
    room.there = False
    muting.close()


def test_a_device_that_the_system_tells_of() -> None:
    """Of many systems' devices: they fail at no call and are heard of by events alone."""
    room = Room(there=False)
    player = room.player()
    muting = Muting(player)
    assert not muting.can_sound
    room.there = True
    muting.heed(DEVICE_CAME)
    assert player.settled()
    muting.play("recoil")
    assert room.lines == []
    muting.heed(DEVICE_LOST)
    assert player.settled()
    assert not muting.can_sound
    muting.play("lift")
    assert room.heard == ["recoil", "lift"]
    assert room.lines == [GONE, BACK]
    muting.heed("anything else")
    Muting(SilentPlayer()).heed(DEVICE_LOST)
    muting.close()
    muting.heed(DEVICE_LOST)  # too late, and nothing is opened


@pytest.mark.parametrize("seed", range(20))
def test_whatever_the_device_does_lines_take_turns(seed: int) -> None:
    rng, room = random.Random(seed), Room()
    player = room.player()
    for k in range(100):
        room.there = rng.random() < 0.7
        player.play(f"{k}")
        assert player.settled()
    room.there = True
    for name in ("a", "b", "c"):
        player.play(name)
        assert player.settled()
    assert room.heard[-2:] == ["b", "c"]
    assert player.can_sound
    assert room.lines[0::2] == [GONE] * ((len(room.lines) + 1) // 2)
    assert room.lines[1::2] == [BACK] * (len(room.lines) // 2)
    assert len(room.lines) % 2 == 0
    player.close()


def test_a_fault_of_our_own_is_not_taken_for_a_lost_device_in_silence(caplog: pytest.LogCaptureFixture) -> None:
    room = Room()
    player = ReturningPlayer(room.open(), broken, room.lines.append)
    room.there = False
    player.play("early_look")  # the device is gone; opening it anew then fails of something else
    assert player.settled()
    assert [record.message.split(" at ")[0] for record in caplog.records] == ["RuntimeError", "OSError", "KeyError"]
    player.close()


def broken() -> TonePlayer:
    raise KeyError("no such setting")


def test_a_device_that_is_not_back_yet_is_no_fault(caplog: pytest.LogCaptureFixture) -> None:
    room = Room(there=False)
    player = room.player()
    player.play("early_look")
    assert player.settled()
    assert not caplog.records


def test_a_cue_while_the_device_is_opened_anew_says_nothing_of_it() -> None:
    """A mixer that was let go takes a sound in silence: that is no loudspeaker which sounds again."""
    opening, go_on = threading.Event(), threading.Event()
    lines: list[str] = []

    def make() -> TonePlayer:
        opening.set()
        assert go_on.wait(5.0)
        return SilentPlayer("none is back")

    player = ReturningPlayer(Deaf(), make, lines.append)
    player.lose()
    assert opening.wait(5.0)
    player.play("early_look")
    assert lines == [GONE]
    assert not player.can_sound
    go_on.set()
    assert player.settled()
    player.close()


class Deaf:
    """Takes every call and makes no sound."""

    description = "deaf"

    def play(self, name: str) -> None:
        return

    def close(self) -> None:
        return
