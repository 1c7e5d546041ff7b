"""The terminal, a window if there may be one, and the loudspeaker, for a command that runs on a camera."""

from __future__ import annotations

from contextlib import closing, contextmanager
from typing import Iterator

from trainer.app.devices import Devices, Display, Sounds
from trainer.commands.console import CONSOLE
from trainer.settings.model import Settings
from trainer.ui.drawing.window import Draws, WindowConfig, code_loaded, open_display


@contextmanager
def window_first(settings: Settings, view: Draws | None, code: str) -> Iterator[Display | None]:
    """The window, open before the command's code is there, which takes a second or more. None: the user ended it meanwhile.

    view: what draws in it, None: no window is wanted; code: the module.
    """
    window = settings.window
    config = WindowConfig(window.width, window.height, window.fullscreen, window.theme)
    with closing(open_display(view is not None, config, CONSOLE.report, view)) as display:
        yield display if code_loaded(display, code) else None


@contextmanager
def open_devices(settings: Settings, display: Display, sounds: Sounds | None = None) -> Iterator[Devices]:
    """sounds: beside the packaged ones."""
    from trainer.app.devices import returning_tones

    with closing(returning_tones(settings, CONSOLE, sounds)) as tones:
        yield Devices(display, tones, CONSOLE)
