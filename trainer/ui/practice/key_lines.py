"""The keys that do something now, in one line or two at the window's foot. They are read at the keyboard, not from afar."""

from __future__ import annotations

from typing import Any, Sequence

from trainer.feedback.signs import Theme
from trainer.live.keys import KEYS, Key, acting
from trainer.texts import join, spoken
from trainer.ui.drawing.canvas import Canvas, Surface

LETTERS = 0.030  # of the window's height
LEAST_PX = 12  # no smaller
BETWEEN = "   "
MOST_LINES = 2  # while the letters may still be smaller


class KeyLines:
    """As many lines as all keys take, whichever of them act: what stands above does not move when one more does."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._made: dict[tuple[Sequence[Key], int, int, str], list[str]] = {}  # what was asked for -> its lines

    def height_px(self, height: int, width: int) -> int:
        """height: of the window; width: that there is for the lines; px."""
        letters, lines = self._fitted(height, width)
        return _step(letters) * lines

    def draw(self, on: Surface, box: Any, commands: frozenset[str], theme: Theme) -> int:
        """At the foot of the box. commands: whose keys do something now. Returns the height that is taken, px."""
        letters, count = self._fitted(on.get_height(), box.width)
        y = box.bottom - _step(letters) * (count - 1)
        for line in self._lines(acting(commands), letters, box.width):
            self._canvas.text(on, line, (box.left, y), letters, theme.soft, "bottomleft")
            y += _step(letters)
        return _step(letters) * count

    def _fitted(self, height: int, width: int) -> tuple[int, int]:
        """(letters in px, number of lines) at which all keys fit."""
        letters = round(LETTERS * height)
        while len(lines := self._lines(KEYS, letters, width)) > MOST_LINES and letters > LEAST_PX:
            letters -= 1
        return letters, len(lines)

    def _lines(self, keys: Sequence[Key], letters: int, width: int) -> list[str]:
        """Each as full as goes; a key's words are not parted."""
        asked = keys, letters, width, spoken().code
        if asked not in self._made:
            self._made[asked] = self._parted(keys, letters, width)
        return self._made[asked]

    def _parted(self, keys: Sequence[Key], letters: int, width: int) -> list[str]:
        lines: list[list[str]] = [[]]
        for key in keys:
            if lines[-1] and self._canvas.width(join(BETWEEN, (*lines[-1], key.words)), letters) > width:
                lines.append([])
            lines[-1].append(key.words)
        return [join(BETWEEN, line) for line in lines]


def _step(letters: int) -> int:
    """From line to line, px."""
    return letters + 4  # their dots and tails stick out
