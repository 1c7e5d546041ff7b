"""The cross in a window's upper right corner: what mouse and finger leave it by."""

from __future__ import annotations

from typing import Any

from trainer.feedback.signs import Theme
from trainer.ui.drawing.canvas import Canvas, Surface, between

CROSS = 46  # px at scale 1: can be met with a finger


def cross_box(canvas: Canvas, on: Surface, scale: float) -> Any:
    """Where it is, on a surface."""
    side = round(CROSS * scale)
    return canvas.pg.Rect(on.get_width() - side, 0, side, side)


def draw_cross(canvas: Canvas, on: Surface, scale: float, theme: Theme) -> None:
    """Over whatever is there."""
    box, pg = cross_box(canvas, on, scale), canvas.pg
    pg.draw.rect(on, between(theme.panel, theme.soft, 0.35), box, border_bottom_left_radius=box.width // 4)
    inner = box.inflate(-box.width * 0.62, -box.width * 0.62)
    for a, b in ((inner.topleft, inner.bottomright), (inner.topright, inner.bottomleft)):
        canvas.stroke(on, a, b, theme.text, max(3, box.width // 14))
