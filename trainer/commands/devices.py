"""The terminal, a window if there may be one, and the loudspeaker, for a command that runs on a camera."""

from __future__ import annotations

from contextlib import closing, contextmanager
from typing import Iterator

from trainer.app.devices import Devices, Sounds, open_tones
from trainer.commands.console import CONSOLE
from trainer.settings.model import Settings
from trainer.ui.drawing.window import Draws, WindowConfig, open_display


@contextmanager
def open_devices(settings: Settings, view: Draws | None, sounds: Sounds | None = None) -> Iterator[Devices]:
    """view: what draws in the window, None: no window is wanted; sounds: beside the packaged ones."""
    window = settings.window
    config = WindowConfig(window.width, window.height, window.fullscreen, window.theme)
    with (
        closing(open_display(view is not None, config, CONSOLE.report, view)) as display,
        closing(open_tones(settings, CONSOLE, sounds)) as tones,
    ):
        yield Devices(display, tones, CONSOLE)
