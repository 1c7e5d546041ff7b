"""The page that tells how to link a phone: a code for its camera, the same address in letters, what to do."""

from __future__ import annotations

from trainer.feedback.signs import THEMES
from trainer.texts import join
from trainer.ui.drawing.canvas import Canvas, Surface
from trainer.ui.drawing.opening_view import STOP
from trainer.vision.sources.base import Waiting

# Shares of the window's height.
TITLE_LETTERS = 0.09
LETTERS = 0.05
SMALL_LETTERS = 0.045
EDGE = 0.06
LEAST_LETTERS = 18  # px, on a small part of a window too
KEYS = STOP
QUIET = 4  # empty dots around a code, as its standard asks
DARK, LIGHT = (0, 0, 0), (255, 255, 255)  # a code is read by its contrast, whatever the theme


def draw_link(canvas: Canvas, on: Surface, waiting: Waiting, theme_name: str, keys: str = KEYS) -> None:
    """Paints the whole surface. keys: the line of what they do."""
    theme = THEMES[theme_name]
    width, height = on.get_size()
    edge = round(EDGE * height)
    on.fill(theme.ground)
    left = edge
    if waiting.qr:
        dots = len(waiting.qr) + 2 * QUIET
        dot = max(2, int(min(height - 2 * edge, 0.5 * width) / dots))
        side = dot * dots
        box = canvas.pg.Rect(left, (height - side) // 2, side, side)
        canvas.pg.draw.rect(on, LIGHT, box)
        for y, row in enumerate(waiting.qr):
            for x, dark in enumerate(row):
                if dark:
                    place = (box.left + (x + QUIET) * dot, box.top + (y + QUIET) * dot, dot, dot)
                    canvas.pg.draw.rect(on, DARK, place)
        left = box.right + edge
    wide = width - left - edge
    letters = max(LEAST_LETTERS, LETTERS * height)
    y = canvas.text(on, waiting.words, (left, 0.16 * height), TITLE_LETTERS * height, theme.text, width=wide).bottom
    y = round(canvas.paragraph(on, waiting.todo, (left, y + 0.02 * height), letters, theme.soft, wide))
    y += round(0.06 * height)
    for line in in_lines(waiting.address):
        y = canvas.text(on, line, (left, y), letters, theme.text, width=wide).bottom
    canvas.text(on, keys, (left, height - edge), SMALL_LETTERS * height, theme.soft, "bottomleft", wide)


def in_lines(address: str) -> list[str]:
    """Broken where the eye finds its place again: after the computer, and between groups of letters."""
    place, slash, secret = address.rpartition("/")
    groups = secret.split("-")
    halves = [join("-", groups[:4]), join("-", groups[4:])]
    return [line for line in (place + slash, halves[0] + ("-" if halves[1] else ""), halves[1]) if line]
