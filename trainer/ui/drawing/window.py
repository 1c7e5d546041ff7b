"""The window, on the main thread: shows states, hands on keys. Without a display there is none, said once."""

from __future__ import annotations

import os
import warnings
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Callable, Protocol

from trainer.feedback.signs import THEMES
from trainer.feedback.tones import DEVICE_CAME, DEVICE_LOST
from trainer.live.keys import COMMANDS
from trainer.live.opening import Opening, made_ready
from trainer.live.ports import QUIT, THEME, Display
from trainer.settings.model import Window as WindowSettings
from trainer.texts import shown, tr
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.drawing.link_view import draw_link
from trainer.ui.drawing.opening_view import draw_opening
from trainer.ui.practice.practice_view import PracticeView
from trainer.vision.sources.base import MonotonicClock, Waiting

TITLE = tr("Putting trainer")
OPENING = tr("Opening")
# What SDL settles for where there is no screen; good only when named on purpose (tests do).
NOWHERE_DRIVERS = ("offscreen", "dummy")
WITHOUT_WINDOW = tr("no display: going on without the window; Ctrl-C ends")


class Draws(Protocol):
    """What fills the window from a state: the practice view, or another command's."""

    theme: str

    def draw(self, on: Any, state: Any) -> None:
        """Paints the whole surface."""


@dataclass(frozen=True, slots=True)
class WindowConfig:
    """What the window should be like."""

    width: int = 1280
    height: int = 720
    fullscreen: bool = False
    theme: str = "dark"


class NoWindow:
    """Shows nothing, hears no keys."""

    visible = False

    def poll(self) -> list[str]:
        return []

    def show(self, state: Any) -> None:
        return

    def close(self) -> None:
        return


def open_surface(size: tuple[int, int], title: str, flags: int) -> Any:
    """The display's surface. Raises pygame.error (a RuntimeError) where there is no display."""
    import pygame

    # Not pygame.init(): it would open the mixer with settings of its own.
    pygame.display.init()
    driver = pygame.display.get_driver()
    if driver in NOWHERE_DRIVERS and os.environ.get("SDL_VIDEODRIVER") != driver:
        raise pygame.error(f"only {driver}")
    pygame.display.set_caption(shown(title))
    screens = pygame.display.get_desktop_sizes() if driver not in NOWHERE_DRIVERS else []
    if not screens or not flags & pygame.RESIZABLE:
        return pygame.display.set_mode(size, flags)
    fitting = on_screen(size, screens[0])
    pygame.display.set_mode(fitting, flags)
    if fitting[0] == screens[0][0] or fitting[1] == screens[0][1]:
        with warnings.catch_warnings():  # there is no other way to maximise it in pygame-ce 2.5
            warnings.simplefilter("ignore", DeprecationWarning)
            pygame.Window.from_display_module().maximize()  # a title bar takes its room from the window, not the picture
    return pygame.display.get_surface()


def on_screen(size: tuple[int, int], screen: tuple[int, int]) -> tuple[int, int]:
    """The size, but never wider or higher than the screen: what lies beyond it cannot be seen."""
    return min(size[0], screen[0]), min(size[1], screen[1])


class PygameWindow:
    """A pygame window, with something in it as soon as it is there. view: what draws the states, else the strokes' own.

    Raises pygame.error (a RuntimeError) where there is no display.
    """

    visible = True

    def __init__(self, config: WindowConfig, view: Draws | None = None, title: str = TITLE) -> None:
        import pygame

        size = (0, 0) if config.fullscreen else (config.width, config.height)
        open_surface(size, title, pygame.FULLSCREEN if config.fullscreen else pygame.RESIZABLE)
        pygame.mouse.set_visible(not config.fullscreen)
        self._take_up(view or PracticeView(config.theme))
        self.show(Opening(OPENING))

    def _take_up(self, view: Draws) -> None:
        """What draws, and the keys."""
        import pygame

        self._pg = pygame
        self._canvas = Canvas()
        self._view = view
        self._commands = {pygame.key.key_code(name): command for name, command in COMMANDS.items()}

    def poll(self) -> list[str]:
        found = [command for event in self._pg.event.get() if (command := self._command(event)) is not None]
        if found.count(THEME) % 2:
            names = list(THEMES)
            self._view.theme = names[(names.index(self._view.theme) + 1) % len(names)]
        return found

    def _command(self, event: Any) -> str | None:
        """What one event orders."""
        if event.type == self._pg.QUIT:
            return QUIT
        if event.type == self._pg.AUDIODEVICEADDED and not event.iscapture:
            return DEVICE_CAME
        if (
            event.type == self._pg.AUDIODEVICEREMOVED and not event.iscapture and event.which
        ):  # 0: one that is not in use
            return DEVICE_LOST
        return self._commands.get(event.key) if event.type == self._pg.KEYDOWN else None

    def show(self, state: Any) -> None:
        surface = self._pg.display.get_surface()  # a new one after the window was resized
        if surface is None:  # closed
            return
        if isinstance(state, Opening):
            draw_opening(self._canvas, surface, state, self._view.theme)
        elif isinstance(state, Waiting):
            draw_link(self._canvas, surface, state, self._view.theme)
        else:
            self._view.draw(surface, state)
        self._finish(surface)
        self._pg.display.flip()

    def _finish(self, surface: Any) -> None:
        """What is drawn over everything."""

    def close(self) -> None:
        self._pg.display.quit()


def open_window(settings: WindowSettings, title: str) -> PygameWindow | None:
    """A window of that size and theme; None: there is no display."""
    import pygame

    try:
        config = WindowConfig(settings.width, settings.height, settings.fullscreen, settings.theme)
        return PygameWindow(config, title=title)
    except pygame.error:
        pygame.display.quit()
        return None


def open_display(
    wanted: bool, config: WindowConfig, report: Callable[[str], None], view: Draws | None = None
) -> Display:
    """The window, or none: not wanted, or no display (reported once). view: what draws, else the strokes'."""
    if not wanted:
        return NoWindow()
    import pygame

    try:
        return PygameWindow(config, view)
    except pygame.error:
        pygame.display.quit()
        report(WITHOUT_WINDOW)
        return NoWindow()


def code_loaded(display: Display, module: str) -> bool:
    """Imports it while the window shows that it goes on. False: the user ended it meanwhile."""
    return made_ready(display, MonotonicClock(), OPENING, lambda _: import_module(module)) is not None
