"""What plays the sounds: the mixer of pygame, simpleaudio, or nothing. All sounds are loaded before they are needed."""

from __future__ import annotations

import sys
import threading
import wave
from pathlib import Path
from typing import Any, Callable, Mapping, Protocol, runtime_checkable

import numpy as np
import numpy.typing as npt

from trainer.errors import SoundError, words_of
from trainer.feedback.cues import ALL_SET, CUE_NAMES, READY, STEP_DONE, THERE
from trainer.feedback.loudspeakers import usual_loudspeaker
from trainer.feedback.make_sounds import RATE_HZ
from trainer.resources import data_path
from trainer.texts import join, tr

Samples = npt.NDArray[np.float32]

SOUND_NAMES = (*CUE_NAMES, READY, STEP_DONE, THERE, ALL_SET)
DEVICE_LOST, DEVICE_CAME = "sound device lost", "sound device came"  # beside what a user orders
BACKENDS = ("mixer", "simpleaudio")  # in the order in which "auto" tries them
BUFFER_SAMPLES = 512  # where nothing tells which (``tests/bench/sound_delay.md``)
WITHOUT_SOUND = tr("no sound: the signs on the screen stand in for the tones")


class TonePlayer(Protocol):
    """Plays one sound at a time of need; may be called from any thread. ``play`` raises only when the device is gone, which
    ``ReturningPlayer`` stands between."""

    @property
    def description(self) -> str:
        """What it is, in a few words, with what it really got from the device."""

    def play(self, name: str) -> None:
        """Starts a sound and returns at once; an earlier sound is cut off."""

    def close(self) -> None:
        """Stops and gives the device back; may be called twice."""


@runtime_checkable
class Returns(Protocol):
    """A player whose device may go and come back."""

    def lose(self) -> None: ...

    def look_again(self) -> None: ...


class SilentPlayer:
    """Plays nothing. reason: why, for `check`."""

    def __init__(self, reason: str = "sound is off") -> None:
        self.description = tr("silent ({reason})", reason=reason)

    def play(self, name: str) -> None:
        return

    def close(self) -> None:
        return


class MixerPlayer:
    """pygame's mixer with a small buffer. The device may have another rate or channel count: sounds are shaped to it.

    A wrong shape is not refused by the mixer, it plays at a wrong pitch or is an error far from its cause
    (https://github.com/pygame/pygame/issues/2417), so what it really got is read back.
    """

    def __init__(
        self, sounds: Mapping[str, Samples], volume: float, buffer_samples: int, device: str | None = None
    ) -> None:
        import pygame

        self._pygame = pygame
        self._open = True
        self._lock = threading.Lock()  # a channel of a mixer that was closed crashes the process (pygame-ce 2.5.8)
        try:
            # Default changes allowed: a device of 48 kHz is used at 48 kHz, which saves a conversion at every buffer.
            pygame.mixer.init(RATE_HZ, -16, 1, buffer_samples, device)
        except pygame.error as error:
            raise SoundError(
                tr("no sound device ({words_of})", words_of=words_of(error)),
                device or "mixer",
                tr("connect a loudspeaker"),
            ) from None
        got = pygame.mixer.get_init()
        if not got:
            raise SoundError(tr("no sound device"), "mixer", tr("connect a loudspeaker"))
        self.rate_hz, self.format, self.channels = got
        # ALSA writes a line to descriptor 2 when it ran dry (https://github.com/libsdl-org/SDL/issues/9171), others none.
        self.tells_underruns = pygame.mixer.get_driver() == "alsa"
        pygame.mixer.set_num_channels(1)
        self._channel = pygame.mixer.Channel(0)
        self._sounds = {}
        for name, data in sounds.items():
            sound = pygame.mixer.Sound(buffer=shaped(data, self.rate_hz, self.format, self.channels))
            sound.set_volume(volume)
            self._sounds[name] = sound
        piece_ms = 1000 * buffer_samples / self.rate_hz
        where = tr("mixer, {device}", device=device or usual_loudspeaker())
        self.description = tr(
            "{where}, {rate_hz} Hz, {channels} channel(s), {piece_ms:.0f} ms at a time",
            where=where,
            rate_hz=self.rate_hz,
            channels=self.channels,
            piece_ms=piece_ms,
        )

    def play(self, name: str) -> None:
        with self._lock:
            if self._open:
                self._channel.play(self._sounds[name])

    def close(self) -> None:
        with self._lock:
            self._open = False
            self._pygame.mixer.quit()


class SimpleAudioPlayer:
    """simpleaudio (optional extra): opens the device anew for every sound."""

    def __init__(self, sounds: Mapping[str, Samples], volume: float) -> None:
        where = "simpleaudio"
        if sys.version_info >= (3, 12):
            raise SoundError(tr("1.0.4 crashes Python 3.12 and later when it plays"), where, tr("use the mixer"))
        try:
            import simpleaudio
        except ImportError:
            raise SoundError(tr("not installed"), where, tr("pip install 'putting-trainer[simpleaudio]'")) from None
        self._module: Any = simpleaudio
        self._sounds = {name: shaped(data * np.float32(volume), RATE_HZ, -16, 1) for name, data in sounds.items()}
        self._playing: Any = None
        try:  # only playing tells whether there is a device
            simpleaudio.play_buffer(bytes(2 * (RATE_HZ // 100)), 1, 2, RATE_HZ).wait_done()
        except Exception as error:
            raise SoundError(
                tr("no sound device ({words_of})", words_of=words_of(error)), where, tr("connect a loudspeaker")
            ) from None
        self.description = tr("simpleaudio, {rate_hz} Hz, 1 channel", rate_hz=RATE_HZ)

    def play(self, name: str) -> None:
        if self._playing is not None:
            self._playing.stop()
        self._playing = None
        self._playing = self._module.play_buffer(self._sounds[name], 1, 2, RATE_HZ)

    def close(self) -> None:
        if self._playing is not None:
            # A stop in mid-sound leaves its thread to end by itself; waiting is bounded by the longest sound.
            self._playing.wait_done()
            self._playing = None


class Muting:
    """Any player with a mute key. elsewhere: plays it in another place; False: it does not, and the player is to."""

    def __init__(self, player: TonePlayer, elsewhere: Callable[[str], bool] = lambda name: False) -> None:
        self._player, self._elsewhere = player, elsewhere
        self.muted = False

    @property
    def description(self) -> str:
        return self._player.description

    @property
    def can_sound(self) -> bool:
        return bool(getattr(self._player, "can_sound", not isinstance(self._player, SilentPlayer)))

    def heed(self, said: str) -> None:
        """What the system says of sound devices: any that went may be this one."""
        if isinstance(self._player, Returns) and said in (DEVICE_LOST, DEVICE_CAME):
            (self._player.lose if said == DEVICE_LOST else self._player.look_again)()

    def play(self, name: str) -> None:
        if not self.muted and not self._elsewhere(name):
            self._player.play(name)

    def close(self) -> None:
        self._player.close()


def open_player(
    backend: str = "auto",
    volume: float = 0.8,
    buffer_samples: int = BUFFER_SAMPLES,
    report: Callable[[str], None] = lambda line: None,
    more: Mapping[str, Samples] | None = None,
    device: str = "",
) -> TonePlayer:
    """The player asked for. "auto": the first that works, else silent, reported once. more: further sounds; device: of the
    mixer, whose absence is reported; then the system's own plays.

    Raises SoundError where a back end was named and cannot play.
    """
    if backend == "silent" or volume <= 0:
        return SilentPlayer(tr("asked for") if backend == "silent" else tr("volume is 0"))
    sounds = {**load_sounds(), **(more or {})}
    makers: dict[str, Callable[[], TonePlayer]] = {
        "mixer": lambda: _on_device(device, report, lambda name: MixerPlayer(sounds, volume, buffer_samples, name)),
        "simpleaudio": lambda: SimpleAudioPlayer(sounds, volume),
    }
    if backend != "auto":
        return makers[backend]()
    reasons = []
    for name in BACKENDS:
        try:
            return makers[name]()
        except SoundError as error:
            reasons.append(tr("{name}: {what}", name=name, what=error.what))
    report(WITHOUT_SOUND)
    return SilentPlayer(join("; ", reasons))


def _on_device(device: str, report: Callable[[str], None], opened: Callable[[str | None], TonePlayer]) -> TonePlayer:
    """On the one that was chosen; where it is not there now, on the system's own."""
    if device:
        try:
            return opened(device)
        except SoundError:
            report(tr("{device} does not play now: the tones come from the system's own loudspeaker", device=device))
    return opened(None)


def load_sounds(folder: Path | None = None) -> dict[str, Samples]:
    """Every sound as mono samples -1..1 at RATE_HZ. folder: the packaged one unless given."""
    return {
        name: _read(folder / f"{name}.wav" if folder else data_path("sounds", f"{name}.wav")) for name in SOUND_NAMES
    }


def shaped(data: Samples, rate_hz: int, sample_format: int, channels: int) -> bytes:
    """The bytes a device wants. data: mono -1..1 at RATE_HZ.

    sample_format: bits, negative when signed, as the mixer reports it (-16, 16, -8, 8, 32 = float).
    """
    if rate_hz != RATE_HZ:
        from math import gcd

        from scipy.signal import resample_poly

        common = gcd(rate_hz, RATE_HZ)
        data = resample_poly(data, rate_hz // common, RATE_HZ // common).astype(np.float32)
    data = np.clip(data, -1.0, 1.0)
    wide = np.repeat(data[:, None], channels, axis=1)
    if sample_format == 32:
        return bytes(wide.astype("=f4").tobytes())
    bits = abs(sample_format)
    top = 2 ** (bits - 1) - 1
    whole = np.rint(wide * top)
    if sample_format > 0:
        return bytes((whole + 2 ** (bits - 1)).astype(f"=u{bits // 8}").tobytes())
    return bytes(whole.astype(f"=i{bits // 8}").tobytes())


def _read(path: Path) -> Samples:
    with wave.open(str(path), "rb") as file:
        if (file.getnchannels(), file.getsampwidth(), file.getframerate()) != (1, 2, RATE_HZ):
            raise SoundError(
                tr("not mono, 16 bit, {rate_hz} Hz", rate_hz=RATE_HZ), str(path), tr("install putting-trainer again")
            )
        data = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
    return (data / 32767.0).astype(np.float32)
