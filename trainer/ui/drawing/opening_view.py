"""The page of a window that is still being made ready: what is done, and a bar that fills or, where nobody knows, moves."""

from __future__ import annotations

from typing import Any

from trainer.feedback.signs import THEMES, Theme
from trainer.live.opening import Opening
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface

# Shares of the window's height.
LETTERS = 0.07
SMALL_LETTERS = 0.045
BAR = 0.05
RUNNER = 0.18  # of the bar's width: what moves in it
STOP = tr("Esc: stop")
ROUND_S = 1.6  # from end to end


def draw_opening(canvas: Canvas, on: Surface, opening: Opening, theme_name: str) -> None:
    """Paints the whole surface."""
    theme = THEMES[theme_name]
    width, height = on.get_size()
    left, wide = round(0.1 * width), round(0.8 * width)
    on.fill(theme.ground)
    canvas.text(on, opening.words, (left, 0.42 * height), LETTERS * height, theme.text, "bottomleft", wide)
    box = canvas.pg.Rect(left, round(0.47 * height), wide, round(BAR * height))
    moving_bar(canvas, on, box, opening.passed_s, opening.share, theme)
    canvas.text(on, STOP, (left, 0.58 * height), SMALL_LETTERS * height, theme.soft)


def moving_bar(canvas: Canvas, on: Surface, box: Any, passed_s: float, share: float | None, theme: Theme) -> None:
    """share: of it that is filled, with a light that moves all the same; None: the light alone."""
    canvas.bar(on, box, min(share or 0.0, 0.999), theme)
    way = (passed_s / ROUND_S) % 2.0
    runner = canvas.pg.Rect(0, box.top + box.height // 3, round(RUNNER * box.width), max(3, box.height // 3))
    runner.left = box.left + round((way if way <= 1.0 else 2.0 - way) * (box.width - runner.width))
    canvas.pg.draw.rect(on, theme.text, runner, border_radius=runner.height // 2)
