"""The review's window: keys and mouse to commands, drawn when something changes. On the main thread."""

from __future__ import annotations

import os
from typing import Any

from trainer.errors import UsageError
from trainer.ui.drawing.window import NOWHERE_DRIVERS, WindowConfig
from trainer.ui.review.reviewer import KEYS, Reviewer
from trainer.vision.sources.base import Clock, MonotonicClock

TITLE = "Putting trainer: review"
REST_MS = 15  # between two looks at the keys while a stroke plays
IDLE_MS = 100
NO_DISPLAY = UsageError(
    "there is no display for the window", "review", "use --still, --clip-out, --sheet or --numbers instead"
)


class ReviewWindow:
    """``run`` until the user quits. Raises UsageError where there is no display."""

    def __init__(self, reviewer: Reviewer, config: WindowConfig, clock: Clock | None = None) -> None:
        import pygame

        self._pg, self._reviewer, self._clock = pygame, reviewer, clock or MonotonicClock()
        try:
            pygame.display.init()
            driver = pygame.display.get_driver()
            if driver in NOWHERE_DRIVERS and os.environ.get("SDL_VIDEODRIVER") != driver:
                raise pygame.error(f"only {driver}")
            pygame.display.set_caption(TITLE)
            size = (0, 0) if config.fullscreen else (config.width, config.height)
            pygame.display.set_mode(size, pygame.FULLSCREEN if config.fullscreen else pygame.RESIZABLE)
        except pygame.error:
            pygame.display.quit()
            raise NO_DISPLAY from None
        named = {"Page down": "pagedown", "Page up": "pageup"}
        self._keys: dict[tuple[int, bool], str] = {}
        for name, command in KEYS.items():
            shift, key = name.startswith("Shift+"), name.removeprefix("Shift+")
            self._keys[(pygame.key.key_code(named.get(key, key.lower())), shift)] = command
        self._keys[(pygame.K_ESCAPE, False)] = "quit"
        pygame.key.set_repeat(300, 40)  # a key held down goes on stepping

    def run(self) -> None:
        """Draws, waits, does what keys and mouse say."""
        try:
            self._draw()
            last_s = self._clock.now()
            while True:
                playing = self._reviewer.session.playback.playing
                event = self._pg.event.wait(REST_MS if playing else IDLE_MS)
                events = [event, *self._pg.event.get()]
                asked = [e for e in events if e.type != self._pg.NOEVENT]
                if not all(self._hear(e) for e in asked):
                    return
                now_s = self._clock.now()
                self._reviewer.tick(now_s - last_s)
                last_s = now_s
                if asked or playing:
                    self._draw()
        finally:
            self._pg.display.quit()

    def _draw(self) -> None:
        self._reviewer.draw(self._pg.display.get_surface())
        self._pg.display.flip()

    def _hear(self, event: Any) -> bool:
        """False: it asks to quit."""
        pg, reviewer = self._pg, self._reviewer
        if event.type == pg.QUIT:
            return False
        if event.type == pg.KEYDOWN:
            shift = bool(event.mod & pg.KMOD_SHIFT)
            command = self._keys.get((event.key, shift)) or self._keys.get((event.key, False))
            return reviewer.do(command) if command is not None else True
        if event.type == pg.MOUSEBUTTONDOWN and event.button == 1:
            return reviewer.click(event.pos)
        if event.type == pg.MOUSEWHEEL:
            return reviewer.do("on" if event.y < 0 else "back")
        if event.type == pg.MOUSEMOTION:
            reviewer.point(event.pos, bool(event.buttons[0]))
        return True
