"""A card between strokes, in place of picture and numbers: the figure, what and why, what to try. The whole is in `reasons`."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from trainer.coaching.reasons.card import Card, Claim
from trainer.coaching.reasons.figure import XY, Ink, Panel
from trainer.feedback.signs import Colour, Theme
from trainer.ui.drawing.canvas import Canvas, Place, Surface

TITLE = 0.062  # of the window's height
LETTERS = 0.036
HEADING = 0.030


def draw_card(canvas: Canvas, on: Surface, box: Any, card: Card, theme: Theme) -> None:
    """Fills the box."""
    height = on.get_height()
    title = canvas.text(on, card.title, box.topleft, TITLE * height, theme.text, width=box.width)
    top = title.bottom + round(0.015 * height)
    panels = card.figure[:2]
    side = min((box.bottom - top) // len(panels) - round(0.04 * height), round(0.30 * box.width))
    for i, panel in enumerate(panels):
        place = canvas.pg.Rect(box.left, top + i * (side + round(0.045 * height)), side, side)
        _panel(canvas, on, place, panel, theme)
    text = canvas.pg.Rect(box.left + side + round(0.04 * height), top, 0, box.bottom - top)
    text.width = box.right - text.left
    _words(canvas, on, text, card, theme)


def _words(canvas: Canvas, on: Surface, box: Any, card: Card, theme: Theme) -> None:
    """As large as all of it fits."""
    height = on.get_height()
    told = [part for part in card.sections() if part[0] not in ("How it feels", "When to stop")]
    for share in (1.2, 1.1, 1.0, 0.92, 0.85, 0.78, 0.7):
        if _told(canvas, None, box, told, theme, share * height) <= box.bottom or share == 0.7:
            _told(canvas, on, box, told, theme, share * height)
            return


def _told(
    canvas: Canvas,
    on: Surface | None,
    box: Any,
    parts: list[tuple[str, tuple[Claim, ...]]],
    theme: Theme,
    height: float,
) -> float:
    """Where it ends. on: None: only measured."""
    y = float(box.top)
    for heading, claims in parts:
        if on is not None:
            canvas.text(on, heading, (box.left, y), HEADING * height, theme.soft)
        y += HEADING * height
        for claim in claims:
            y = canvas.paragraph(on, claim.text, (box.left, y), LETTERS * height, theme.text, box.width)
        y += 0.012 * height
    return y


def _panel(canvas: Canvas, on: Surface, box: Any, panel: Panel, theme: Theme) -> None:
    pg = canvas.pg
    pg.draw.rect(on, theme.panel, box, border_radius=box.height // 20)
    red, green, blue = ((a + b) // 2 for a, b in zip(theme.soft, theme.panel, strict=True))
    colours: dict[Ink, Colour] = {
        "body": theme.text,
        "putter": theme.filling,
        "ghost": (red, green, blue),
        "ground": theme.soft,
        "mark": theme.good,
    }
    wide = max(2.0, box.width / 55)

    def at(place: XY) -> Place:
        return box.left + place[0] * box.width, box.bottom - place[1] * box.height

    for path in panel.paths:
        places = [at(place) for place in path.points]
        thick = wide * (0.6 if path.ink in ("ground", "mark") else 1.0)
        if path.dashed:
            canvas.dashed(on, places[0], places[-1], colours[path.ink], thick)
        else:
            for a, b in pairwise(places):
                canvas.stroke(on, a, b, colours[path.ink], thick)
        if path.arrow:
            canvas.arrow_head(on, places[-2], places[-1], colours[path.ink], 3.2 * wide)
    for ring in panel.rings:
        radius = ring.radius * box.width
        inside = colours[ring.ink] if ring.filled else theme.panel
        pg.draw.aacircle(on, colours[ring.ink], at(ring.at), radius + wide / 2)
        pg.draw.aacircle(on, inside, at(ring.at), max(1.0, radius - wide / 2))
    if panel.good is not None:
        size = box.width // 6
        mark = pg.Rect(box.left + size // 4, box.top + size // 4, size, size)
        canvas.mark(on, mark, "good" if panel.good else "fault", theme.good if panel.good else theme.fault)
    size = round(0.026 * on.get_height())
    canvas.text(on, panel.caption, (box.left, box.bottom + 2), size, theme.soft, width=box.width)
