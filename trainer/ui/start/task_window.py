"""The start window's own surface, lent to a task: closing gives it back, and a cross in its corner ends the task."""

from __future__ import annotations

from typing import Any

from trainer.feedback.signs import THEMES
from trainer.live.ports import QUIT
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.drawing.cross import cross_box, draw_cross
from trainer.ui.drawing.window import Draws, PygameWindow


class BarOnly:
    """Of a task that has nothing to show but how far it is."""

    def __init__(self, theme: str) -> None:
        self.theme = theme

    def draw(self, on: Any, state: Any) -> None:
        """Nothing but the ground."""
        on.fill(THEMES[self.theme].ground)


class BigWords:
    """A name and a line, read from 4 m."""

    def __init__(self, theme: str) -> None:
        self.theme = theme
        self._canvas = Canvas()

    def draw(self, on: Any, state: tuple[str, str]) -> None:
        """Paints the whole surface."""
        theme, (width, height) = THEMES[self.theme], on.get_size()
        on.fill(theme.ground)
        wide = 0.9 * width
        self._canvas.text(on, state[0], (width / 2, 0.42 * height), 0.24 * height, theme.text, "center", wide)
        self._canvas.text(on, state[1], (width / 2, 0.68 * height), 0.11 * height, theme.soft, "center", wide)


class TaskWindow(PygameWindow):
    """A ``Display`` on the surface that is open already. view: what draws the states; scale: of the cross."""

    def __init__(self, view: Draws, scale: float = 1.0) -> None:
        self._take_up(view)
        self._scale = scale
        self.quit = False  # it was ended here, by key or cross

    def close(self) -> None:
        """The surface is not this one's to close."""

    def poll(self) -> list[str]:
        found = super().poll()
        self.quit = self.quit or QUIT in found
        return found

    def _command(self, event: Any) -> str | None:
        pressed = event.type == self._pg.MOUSEBUTTONUP and event.button == 1
        if pressed and cross_box(self._canvas, self._pg.display.get_surface(), self._scale).collidepoint(event.pos):
            return QUIT
        return super()._command(event)

    def _finish(self, surface: Any) -> None:
        draw_cross(self._canvas, surface, self._scale, THEMES[self._view.theme])
