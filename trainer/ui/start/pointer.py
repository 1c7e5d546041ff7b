"""A mouse's or finger's way from down to up: a press, a scroll, or a slide that is dragged."""

from __future__ import annotations

from typing import Literal

DRAG_PX = 8  # moved farther than this a press is no press
Dragging = Literal["", "scroll", "slide"]


class Pointer:
    """slide: number of the slide it went down on, None: it was none."""

    def __init__(self) -> None:
        self._down: tuple[int, int] | None = None
        self.slide: int | None = None
        self.dragging: Dragging = ""

    def down(self, at: tuple[int, int], slide: int | None) -> None:
        self._down, self.slide, self.dragging = at, slide, ""

    def moved(self, at: tuple[int, int]) -> Dragging:
        """What its way is by now: a slide is dragged along, a page up and down."""
        if self._down is None:
            return ""
        across, along = abs(at[0] - self._down[0]), abs(at[1] - self._down[1])
        if not self.dragging and self.slide is not None and across > DRAG_PX and across >= along:
            self.dragging = "slide"
        elif not self.dragging and along > DRAG_PX:
            self.dragging = "scroll"
        return self.dragging

    def up(self) -> bool:
        """Whether it was a press."""
        pressed, self._down = not self.dragging, None
        return pressed
