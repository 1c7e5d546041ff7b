"""What the limits window draws itself: strokes on a limit's axis, one stroke's head turn, and its widgets' colours."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import Any, Sequence

from trainer.domain.record import EventName, StrokeRecord
from trainer.feedback.signs import THEMES, Colour, Theme
from trainer.stroke.head_turn import HeadTurn
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface, between

DOT = 4.5  # px; dots of strokes with nearly the same value stand above each other
COUNT_LETTERS = 15  # of how many stand there, where they cover one another


@dataclass(frozen=True, slots=True)
class Dot:
    """One stroke on an axis. place: value on it; called: past the limit; open: neither, for it came too close to call;
    chosen: the stroke shown beside.
    """

    place: float
    called: bool
    open: bool = False
    chosen: bool = False


def widget_theme(name: str) -> dict[str, Any]:
    """Colours of the widgets, from the window's own theme."""
    theme = THEMES[name]
    raised = between(theme.panel, theme.text, 0.10)

    def hexed(colour: Colour) -> str:
        return "#" + "".join(f"{c:02x}" for c in colour)

    colours = {
        "dark_bg": hexed(theme.ground),
        "normal_bg": hexed(theme.panel),
        "hovered_bg": hexed(raised),
        "active_bg": hexed(raised),
        "selected_bg": hexed(between(theme.panel, theme.filling, 0.45)),
        "disabled_bg": hexed(theme.ground),
        "normal_border": hexed(theme.soft),
        "hovered_border": hexed(theme.text),
        "active_border": hexed(theme.text),
        "selected_border": hexed(theme.text),
        "disabled_border": hexed(theme.panel),
        "disabled_text": hexed(theme.soft),
        "filled_bar": hexed(theme.filling),
        "unfilled_bar": hexed(theme.panel),
        "text_cursor": hexed(theme.text),
        **{f"{state}_text": hexed(theme.text) for state in ("normal", "hovered", "active", "selected")},
    }
    return {
        "defaults": {"colours": colours, "font": {"name": "noto_sans", "size": "15"}},
        "selection_list.@selection_list_item": {"misc": {"text_horiz_alignment": "left"}},
    }


@dataclass(frozen=True, slots=True)
class LimitAxis:
    """span: values at its ends; limit: a line; margin: how far beside the limit values are too near it to call."""

    dots: Sequence[Dot]
    span: tuple[float, float]
    limit: float
    margin: float


def draw_axis(canvas: Canvas, on: Surface, box: Any, axis: LimitAxis, theme_name: str) -> None:
    """Strokes where they lie in the span: a dot within the limit, a cross past it, a ring where it
    is too close to call; past either end they stand at the end.

    box: where; its width is the slider's own.
    """
    low, high = axis.span
    theme, pg = THEMES[theme_name], canvas.pg

    def x_of(value: float) -> float:
        share = (value - low) / (high - low)
        return float(box.left + min(max(share, 0.0), 1.0) * box.width)

    pg.draw.line(on, between(theme.ground, theme.soft, 0.5), (box.left, box.bottom), (box.right, box.bottom))
    ends = sorted((x_of(axis.limit), x_of(axis.limit + axis.margin)))
    pg.draw.rect(on, between(theme.ground, theme.soft, 0.3), (ends[0], box.top, ends[1] - ends[0], box.height))
    columns = Counter(round(x_of(dot.place) / (2 * DOT)) for dot in axis.dots)
    taken: Counter[int] = Counter()
    for dot in sorted(axis.dots, key=lambda d: d.chosen):
        x = x_of(dot.place)
        column = round(x / (2 * DOT))
        lane, taken[column] = taken[column], taken[column] + 1
        step = min(2 * DOT, (box.height - 2 * DOT) / max(1, columns[column] - 1))  # closer where there are many
        y = box.bottom - DOT - lane * step
        if dot.called:
            r = DOT * 0.9
            for a, b in (((-r, -r), (r, r)), ((-r, r), (r, -r))):
                pg.draw.line(on, theme.fault, (x + a[0], y + a[1]), (x + b[0], y + b[1]), 3)
        else:
            pg.draw.aacircle(on, theme.soft, (x, y), DOT * 0.8, 1 if dot.open else 0)
        if dot.chosen:
            pg.draw.aacircle(on, theme.text, (x, y), DOT * 2, 2)
    x = x_of(axis.limit)
    pg.draw.line(on, theme.text, (x, box.top), (x, box.bottom + 4), 2)
    _counts(canvas, on, box, columns, theme)


def _counts(canvas: Canvas, on: Surface, box: Any, columns: Counter[int], theme: Theme) -> None:
    """How many stand in a place where they cover one another: beside it, or above where others stand beside it."""
    if not columns or max(columns.values()) * 2 * DOT <= box.height:
        return
    free = box.right
    for column in sorted(columns, reverse=True):
        count = columns[column]
        if count * 2 * DOT <= box.height:
            free = min(free, column * 2 * DOT - DOT)
            continue
        words = canvas.rendered(str(count), COUNT_LETTERS, theme.text)
        left = column * 2 * DOT + 2.5 * DOT
        if left + words.get_width() <= free:
            on.blit(words, (round(left), box.top))
        free = column * 2 * DOT - DOT


def turn_plot(canvas: Canvas, on: Surface, box: Any, record: StrokeRecord, limit_deg: float, theme_name: str) -> None:
    """The head's turn from just before the takeaway to its end, with the limit and the events it is held against."""
    theme, pg = THEMES[theme_name], canvas.pg
    pg.draw.rect(on, theme.panel, box, border_radius=6)
    take = record.events.takeaway_s
    if take is None:
        canvas.text(
            on, tr("head turn: the takeaway was not seen"), box.center, 18, theme.soft, "center", box.width * 0.9
        )
        return
    turning = HeadTurn(record.signals, take)
    inner = box.inflate(-24, -44)
    inner.top += 6
    first, last = take - 0.3, float(turning.time_s[-1])
    top_deg = max(30.0, 1.5 * limit_deg)

    def at(t: float, deg: float) -> tuple[float, float]:
        x = inner.left + (t - first) / max(last - first, 1e-6) * inner.width
        share = min(max((deg + 8.0) / (top_deg + 8.0), 0.0), 1.0)
        return float(x), float(inner.bottom - share * inner.height)

    pg.draw.line(on, theme.soft, at(first, 0.0), at(last, 0.0))
    for k in range(0, int(inner.width), 12):  # as in the review: dashes, of no colour that means something else
        y = at(first, limit_deg)[1]
        pg.draw.line(on, theme.text, (inner.left + k, y), (min(inner.left + k + 7, inner.right), y), 2)
    words = tr("head turn, limit {limit_deg:g}°", limit_deg=limit_deg)
    canvas.text(on, words, (inner.left, box.top + 5), 17, theme.text)
    words_of: tuple[tuple[EventName, str], ...] = (
        ("impact_s", tr("ball")),
        ("settle_s", tr("rest")),
        ("look_s", tr("look")),
    )
    for name, word in words_of:
        when = turning.look(limit_deg) if name == "look_s" else record.events.named(name)
        if when is None:
            continue
        x = at(when, 0.0)[0]
        pg.draw.line(on, theme.soft, (x, inner.top), (x, inner.bottom), 1)
        row = box.bottom - 19 if name != "look_s" else box.top + 5
        canvas.text(on, word, (x, row), 16, theme.soft, "midtop" if name != "look_s" else "topleft")
    points = [
        at(float(t), float(deg))
        for t, deg in zip(turning.time_s, turning.change, strict=True)
        if t >= first and math.isfinite(deg)
    ]
    if len(points) > 1:
        pg.draw.aalines(on, theme.text, False, points)
        pg.draw.lines(on, theme.text, False, points, 2)
    else:
        canvas.text(on, tr("not seen"), inner.center, 20, theme.soft, "center")
