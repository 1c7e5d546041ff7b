"""The review's window: keys and mouse to commands, drawn when something changes. On the main thread."""

from __future__ import annotations

from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Callable, ContextManager

from trainer.errors import UsageError
from trainer.feedback.signs import THEMES
from trainer.live.opening import made_ready
from trainer.live.ports import Display
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.drawing.cross import CROSS, cross_box, draw_cross
from trainer.vision.sources.base import Clock, MonotonicClock
from trainer.worker import Progress

if TYPE_CHECKING:
    from trainer.replay.review_session import ReviewSession
    from trainer.ui.review.reviewer import Reviewer

TITLE = tr("Putting trainer: review")
REST_MS = 15  # between two looks at the keys while a stroke plays
IDLE_MS = 100
NO_DISPLAY = UsageError(
    tr("there is no display for the window"), "review", tr("use --still, --clip-out, --sheet or --numbers instead")
)
REPEAT_MS = (300, 40)  # a stepping key held down: first, and then every so often


class ReviewWindow:
    """``run`` until the user quits, in the window that is open already."""

    def __init__(self, reviewer: Reviewer, clock: Clock | None = None, scale: float = 1.0) -> None:
        import pygame

        from trainer.ui.review.reviewer import KEYS, REPEATING

        self._repeating = REPEATING
        self._canvas, self._scale = Canvas(), scale
        reviewer.corner_px = round(CROSS * scale)
        self._pg, self._reviewer, self._clock = pygame, reviewer, clock or MonotonicClock()
        named = {"Page down": "pagedown", "Page up": "pageup"}
        self._keys: dict[tuple[int, bool], str] = {}
        for name, command in KEYS.items():
            shift, key = name.startswith("Shift+"), name.removeprefix("Shift+")
            self._keys[(pygame.key.key_code(named.get(key, key.lower())), shift)] = command
        self._down: set[int] = set()  # keys held: SDL tells them again and again
        pygame.key.set_repeat(*REPEAT_MS)

    def run(self) -> None:
        """Draws, waits, does what keys and mouse say; what is still being written at the end is stopped."""
        try:
            self._draw()
            last_s = self._clock.now()
            while True:
                playing, settled = self._reviewer.session.playback.playing, self._reviewer.shown.settled
                busy = playing or self._reviewer.saving.busy or not settled
                event = self._pg.event.wait(REST_MS if playing or not settled else IDLE_MS)
                events = [event, *self._pg.event.get()]
                asked = [e for e in events if e.type != self._pg.NOEVENT]
                if not all(self._hear(e) for e in asked):
                    return
                now_s = self._clock.now()
                self._reviewer.tick(now_s - last_s)
                last_s = now_s
                if asked or busy:
                    self._draw()
        finally:
            self._pg.key.set_repeat()
            self._reviewer.close()

    def _draw(self) -> None:
        surface = self._pg.display.get_surface()
        self._reviewer.draw(surface)
        draw_cross(self._canvas, surface, self._scale, THEMES[self._reviewer.theme])
        self._pg.display.flip()

    def _hear(self, event: Any) -> bool:
        """False: it asks to quit."""
        pg, reviewer = self._pg, self._reviewer
        if event.type == pg.QUIT:
            return False
        if event.type == pg.KEYDOWN:
            return self._key(event)
        if event.type == pg.KEYUP:
            self._down.discard(event.key)
        elif event.type == pg.WINDOWFOCUSLOST:
            self._down.clear()
        elif event.type == pg.MOUSEBUTTONDOWN and event.button == 1:
            if cross_box(self._canvas, pg.display.get_surface(), self._scale).collidepoint(event.pos):
                return reviewer.escape()
            return reviewer.click(event.pos)
        elif event.type == pg.MOUSEWHEEL:
            return reviewer.do("on" if event.y < 0 else "back")
        elif event.type == pg.MOUSEMOTION:
            reviewer.point(event.pos, bool(event.buttons[0]))
        return True

    def _key(self, event: Any) -> bool:
        """A key held down goes on stepping; whatever else it does, it does once."""
        held = event.key in self._down
        self._down.add(event.key)
        if event.key == self._pg.K_ESCAPE:
            return held or self._reviewer.escape()
        shift = bool(event.mod & self._pg.KMOD_SHIFT)
        command = self._keys.get((event.key, shift)) or self._keys.get((event.key, False))
        if command is None or (held and command not in self._repeating):
            return True
        return self._reviewer.do(command)


def review_in_window(
    shown: Display,
    theme: str,
    words: str,
    opens: Callable[[Progress], ContextManager[ReviewSession]],
    folder: Path,
    scale: float = 1.0,
) -> None:
    """In a window that is open: the strokes are opened beside it, words being what it shows. folder: where it saves; scale: of
    the cross.

    Raises what opening raises.
    """
    with ExitStack() as opened:
        session = made_ready(shown, MonotonicClock(), words, lambda told: opened.enter_context(opens(told)))
        if session is not None:
            from trainer.ui.export.save_beside import save_beside
            from trainer.ui.review.reviewer import Reviewer

            ReviewWindow(Reviewer(session, theme, partial(save_beside, folder=folder)), scale=scale).run()
