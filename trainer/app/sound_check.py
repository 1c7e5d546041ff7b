"""How late a sound is heard: clicks are played, and a microphone, or the user's own taps, tell when they were in the air."""

from __future__ import annotations

import statistics
from contextlib import closing
from dataclasses import dataclass
from typing import Callable, Protocol, Sequence

import numpy as np

from trainer.app.context import RunContext
from trainer.app.devices import open_tones
from trainer.app.practice.hearing import OpensMicrophone, open_microphone
from trainer.app.sound_buffer import choose_buffer
from trainer.domain.sound import Onset
from trainer.errors import SoundError
from trainer.feedback.make_sounds import RATE_HZ
from trainer.feedback.tones import Samples, SilentPlayer, TonePlayer
from trainer.hearing.ears import Ears
from trainer.live.ports import Reporter, Sounds
from trainer.settings.model import Settings
from trainer.store.sound_memory import recall_buffer, remember_buffer, remember_delay
from trainer.texts import tr
from trainer.vision.sources.base import Clock, MonotonicClock

TOO_FEW = {
    "microphone": tr("too few clicks were heard alike: louder, in a quiet room, and try again"),
    "taps": tr("too few taps came with the clicks: tap Enter with each click that you hear, and try again"),
}
CLICK = "click"
CLICKS, BEAT_S = 9, 0.8
LEAST_HEARD = 5
LATEST_S = 0.6  # after its call a click is heard, or it is another sound
AGREE_S = 0.03  # most of the clicks lie within so much of their middle
# People who tap to a beat come before it, by 20 to 80 ms: Repp 2005, Psychon. Bull. Rev. 12(6), 969-992 (from memory).
TAPS_EARLY_S, TAPS_SD_S = 0.05, 0.03
WIRELESS_S = 0.12  # a cable adds less (common practice, no source)


class Hears(Protocol):
    """``trainer.hearing.ears.Ears``, or a stand-in."""

    def onsets(self, first_s: float, last_s: float) -> Sequence[Onset]: ...


@dataclass(frozen=True, slots=True)
class SoundDelay:
    """delay_s: from the call that plays to the air; by: "microphone" or "taps"; sd_s: of it; heard: clicks of CLICKS."""

    delay_s: float
    sd_s: float
    by: str
    heard: int

    @property
    def words(self) -> str:
        values = {"delay_ms": 1000 * self.delay_s, "heard": self.heard, "clicks": CLICKS}
        said = (
            tr("a tone is in the air about {delay_ms:.0f} ms after it is called ({heard} of {clicks} taps)", **values)
            if self.by == "taps"
            else tr("a tone is in the air {delay_ms:.0f} ms after it is called ({heard} of {clicks} clicks)", **values)
        )
        if self.delay_s > WIRELESS_S:
            said += tr("; that is late, as wireless loudspeakers are: use a cable, or go by the sign")
        return said


def click_sound() -> Samples:
    """A short bright knock that a microphone tells from all else."""
    t = np.arange(round(0.03 * RATE_HZ)) / RATE_HZ
    return np.asarray(0.9 * np.exp(-t / 0.004) * np.sin(2 * np.pi * 3000 * t), np.float32)


def play_clicks(player: TonePlayer, clock: Clock) -> list[float]:
    """When each was called (s of the clock)."""
    called = []
    for _ in range(CLICKS):
        called.append(clock.now())
        player.play(CLICK)
        clock.sleep(BEAT_S)
    return called


def by_microphone(called_s: Sequence[float], ears: Hears) -> SoundDelay | None:
    """None where too few were heard, or not alike."""
    later = []
    for at in called_s:
        near = ears.onsets(at, at + LATEST_S)
        if near:
            later.append(max(near, key=lambda o: o.strength_db).time_s - at)
    return _agreed(later, "microphone", 0.0, 0.0)


def by_taps(called_s: Sequence[float], taps_s: Sequence[float]) -> SoundDelay | None:
    """Each tap against the click nearest to it; the first ones find the beat and do not count."""
    later = []
    for at in called_s[2:]:
        near = min(taps_s, key=lambda tap: abs(tap - at), default=None)
        if near is not None and abs(near - at) < BEAT_S / 2:
            later.append(near - at + TAPS_EARLY_S)
    return _agreed(later, "taps", TAPS_SD_S, 2 * AGREE_S)


def _agreed(later_s: Sequence[float], by: str, own_sd_s: float, slack_s: float) -> SoundDelay | None:
    if len(later_s) < LEAST_HEARD:
        return None
    middle = statistics.median(later_s)
    alike = [v for v in later_s if abs(v - middle) <= AGREE_S + slack_s]
    if len(alike) < LEAST_HEARD:
        return None
    sd_s = (own_sd_s**2 + statistics.variance(alike) / len(alike)) ** 0.5
    return SoundDelay(max(statistics.median(alike), 0.0), sd_s, by, len(alike))


@dataclass(frozen=True)
class SoundRoom:
    """What the check needs of the world outside. microphone: raises SoundError where there is none; taps: times of the
    user's taps so far.
    """

    tones: Callable[[Settings, Reporter | None, Sounds], TonePlayer]
    microphone: OpensMicrophone
    taps: Callable[[], Sequence[float]]
    clock: Clock


def machine_room(taps_of: Callable[[Callable[[], float]], Callable[[], Sequence[float]]]) -> SoundRoom:
    """This machine's. taps_of: begins to note the user's taps by the clock it is given."""
    clock = MonotonicClock()
    return SoundRoom(open_tones, open_microphone, taps_of(clock.now), clock)


def _with_buffer(context: RunContext, room: SoundRoom) -> Settings:
    """With the buffer that suits this loudspeaker, which is kept; but for one that the user has set, or that cannot be told."""
    sound = context.settings.sound
    if sound.buffer_samples not in (None, recall_buffer(context.base, sound.device)):
        return context.settings

    def with_samples(samples: int) -> Settings:
        return context.settings.changed(sound=sound.model_copy(update={"buffer_samples": samples}))

    def opens(samples: int) -> TonePlayer:
        return room.tones(with_samples(samples), None, {CLICK: click_sound()})

    chosen = choose_buffer(opens, room.clock, CLICK)
    if chosen is None:
        return context.settings
    remember_buffer(context.base, sound.device, chosen)
    return with_samples(chosen)


def check_sound(context: RunContext, room: SoundRoom, reporter: Reporter) -> SoundDelay | None:
    """Plays, listens, and keeps what was found with the loudspeaker. None: it could not be told. All is reported."""
    settings = _with_buffer(context, room)
    player = room.tones(settings, reporter, {CLICK: click_sound()})
    with closing(player):
        if isinstance(player, SilentPlayer):
            raise SoundError(
                tr("there is no loudspeaker"), player.description, tr("connect one; the signs stand in for the tones")
            )
        try:
            ears = Ears(room.microphone(settings, room.clock))
        except SoundError as error:
            reporter.report(tr("{line}: tap the Enter key to the beat of the clicks", line=error.line()))
            found, by = by_taps(play_clicks(player, room.clock), room.taps()), "taps"
        else:
            with closing(ears):
                ears.start()
                reporter.report(
                    tr(
                        "{clicks} clicks are played; {name} listens, and only when they come is kept",
                        clicks=CLICKS,
                        name=ears.name,
                    )
                )
                found, by = by_microphone(play_clicks(player, room.clock), ears), "microphone"
        if found is None:
            reporter.report(TOO_FEW[by])
        else:
            remember_delay(context.base, player.description, found.delay_s)
            reporter.report(found.words)
        return found
