"""The computer's microphone, by sounddevice (optional extra). Nothing of the sound is kept or written."""

from __future__ import annotations

from typing import Any, Callable

from trainer.errors import SoundError, words_of
from trainer.hearing.ears import OnBlock
from trainer.texts import tr

BLOCK_S = 0.02
WHERE = "microphone"


class Microphone:
    """now: the frames' clock; device: a part of its name, "" for the system's own. Raises SoundError where there is none."""

    def __init__(self, now: Callable[[], float], device: str = "") -> None:
        try:
            import sounddevice
        except ImportError:
            raise SoundError(tr("not installed"), WHERE, tr("pip install 'putting-trainer[hearing]'")) from None
        except OSError:  # PortAudio's library, which its Linux wheel leaves to the system
            raise SoundError(tr("PortAudio is missing"), WHERE, tr("install libportaudio2")) from None
        self._module: Any = sounddevice
        self._now = now
        try:
            found = sounddevice.query_devices(device or None, "input")
        except (ValueError, sounddevice.PortAudioError) as error:
            raise SoundError(
                tr("none found ({words_of})", words_of=words_of(error)),
                WHERE,
                tr("connect one, or hearing.microphone = false"),
            ) from None
        self._index, self.name = found["index"], str(found["name"])
        self.rate_hz = float(found["default_samplerate"])
        self._stream: Any = None

    def start(self, on_block: OnBlock) -> None:
        def heard(samples: Any, _frames: int, times: Any, _status: Any) -> None:
            # The stream has a clock of its own: how long ago the block began is told by it, when that was by ours.
            ago_s = times.currentTime - times.inputBufferAdcTime
            on_block(samples[:, 0].copy(), self._now() - ago_s)

        try:
            self._stream = self._module.InputStream(
                samplerate=self.rate_hz,
                blocksize=round(BLOCK_S * self.rate_hz),
                device=self._index,
                channels=1,
                dtype="float32",
                callback=heard,
            )
            self._stream.start()
        except self._module.PortAudioError as error:
            raise SoundError(
                tr("{name}: cannot be opened ({words_of})", name=self.name, words_of=words_of(error)),
                WHERE,
                tr("is it in use or not allowed?"),
            ) from None

    def close(self) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close()
