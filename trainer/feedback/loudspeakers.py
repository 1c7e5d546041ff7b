"""The loudspeakers of this computer by name, and which one plays where none was chosen."""

from __future__ import annotations

import ctypes
from pathlib import Path
from typing import Any

from trainer.texts import tr

SPEC_BYTES = 64  # of SDL's description of a device, which is not looked at: 32 on computers of 64 bits


def loudspeakers() -> tuple[str, ...]:
    """Names of those that the mixer can play on, as the system gives them; none where there is no sound at all."""
    import pygame

    try:
        from pygame._sdl2 import INIT_AUDIO, init_subsystem
        from pygame._sdl2.audio import get_audio_device_names

        lent = pygame.mixer.get_init() is None
        if lent:
            init_subsystem(INIT_AUDIO)
        try:
            return tuple(dict.fromkeys(get_audio_device_names(False)))
        finally:
            if lent:  # else a mixer that is opened next opens nothing (pygame-ce 2.5.8)
                pygame.mixer.quit()
    except (ImportError, RuntimeError):  # both pygame.error and the error of its _sdl2 are such
        return ()


def usual_loudspeaker(library: Any = None) -> str:
    """The system's own: by name where SDL tells it (2.24 and later; PulseAudio, PipeWire, Windows, macOS: not ALSA) or where
    there is but one; else how many there are, so that what is kept of it holds as long as these stay the same number.
    library: SDL, None: the one that pygame brings.
    """
    name = ctypes.c_char_p()
    try:
        told = (library or _sdl()).SDL_GetDefaultAudioInfo(
            ctypes.byref(name), ctypes.create_string_buffer(SPEC_BYTES), 0
        )
    except (OSError, AttributeError):  # another SDL, or one that is found in no such way
        told = -1
    if told == 0 and name.value:
        return name.value.decode(errors="replace")
    names = loudspeakers()
    if len(names) > 1:
        return tr("one of {count} loudspeakers", count=len(names))
    return names[0] if names else tr("the system's own loudspeaker")


def _sdl() -> ctypes.CDLL:
    """pygame's own: on Windows it lies beside pygame, elsewhere pygame's mixer leads to it."""
    import pygame

    beside = Path(pygame.__file__).parent / "SDL2.dll"
    return ctypes.CDLL(str(beside if beside.exists() else pygame.mixer.__file__))
