"""Pictures of limits: strokes on a limit's axis, one stroke's head turn."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import Any, Sequence

from trainer.domain.record import EventName, StrokeRecord
from trainer.feedback.signs import THEMES, Theme
from trainer.replay.derived_signals import EVENT_WORDS
from trainer.stroke.head_turn import HeadTurn
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface, between

DOT = 4.5  # px at scale 1; dots of strokes with nearly the same value stand above each other
COUNT_LETTERS, LETTERS = 16, 18  # px at scale 1; the first of how many stand there, where they cover one another


@dataclass(frozen=True, slots=True)
class Dot:
    """One stroke on an axis. place: value on it; called: past the limit; open: neither, for it came too close to call;
    chosen: the stroke shown beside.
    """

    place: float
    called: bool
    open: bool = False
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class LimitAxis:
    """span: values at its ends; limit: a line; margin: how far beside the limit values are too near it to call."""

    dots: Sequence[Dot]
    span: tuple[float, float]
    limit: float
    margin: float


def draw_axis(canvas: Canvas, on: Surface, box: Any, axis: LimitAxis, theme_name: str, scale: float = 1.0) -> None:
    """Strokes where they lie in the span: a dot within the limit, a cross past it, a ring where it
    is too close to call; past either end they stand at the end.

    box: where; its width is the slider's own.
    """
    low, high, dot_px = *axis.span, DOT * scale
    theme, pg = THEMES[theme_name], canvas.pg

    def x_of(value: float) -> float:
        share = (value - low) / (high - low)
        return float(box.left + min(max(share, 0.0), 1.0) * box.width)

    pg.draw.line(on, between(theme.ground, theme.soft, 0.5), (box.left, box.bottom), (box.right, box.bottom))
    ends = sorted((x_of(axis.limit), x_of(axis.limit + axis.margin)))
    pg.draw.rect(on, between(theme.ground, theme.soft, 0.3), (ends[0], box.top, ends[1] - ends[0], box.height))
    columns = Counter(round(x_of(dot.place) / (2 * dot_px)) for dot in axis.dots)
    taken: Counter[int] = Counter()
    for dot in sorted(axis.dots, key=lambda d: d.chosen):
        x = x_of(dot.place)
        column = round(x / (2 * dot_px))
        lane, taken[column] = taken[column], taken[column] + 1
        step = min(2 * dot_px, (box.height - 2 * dot_px) / max(1, columns[column] - 1))  # closer where there are many
        y = box.bottom - dot_px - lane * step
        if dot.called:
            r = dot_px * 0.9
            for a, b in (((-r, -r), (r, r)), ((-r, r), (r, -r))):
                pg.draw.line(on, theme.fault, (x + a[0], y + a[1]), (x + b[0], y + b[1]), round(3 * scale))
        else:
            pg.draw.aacircle(on, theme.soft, (x, y), dot_px * 0.8, 1 if dot.open else 0)
        if dot.chosen:
            pg.draw.aacircle(on, theme.text, (x, y), 2 * dot_px, 2)
    x = x_of(axis.limit)
    pg.draw.line(on, theme.text, (x, box.top), (x, box.bottom + 4), 2)
    _counts(canvas, on, box, columns, theme, scale)


def _counts(canvas: Canvas, on: Surface, box: Any, columns: Counter[int], theme: Theme, scale: float) -> None:
    """How many stand in a place where they cover one another: beside it, or above where others stand beside it."""
    dot_px = DOT * scale
    if not columns or max(columns.values()) * 2 * dot_px <= box.height:
        return
    free = box.right
    for column in sorted(columns, reverse=True):
        count = columns[column]
        if count * 2 * dot_px <= box.height:
            free = min(free, column * 2 * dot_px - dot_px)
            continue
        words = canvas.rendered(str(count), round(COUNT_LETTERS * scale), theme.text)
        left = column * 2 * dot_px + 2.5 * dot_px
        if left + words.get_width() <= free:
            on.blit(words, (round(left), box.top))
        free = column * 2 * dot_px - dot_px


def plot_span(record: StrokeRecord) -> tuple[float, float] | None:
    """The times that curves of a stroke are drawn over; None: the takeaway was not seen."""
    take = record.events.takeaway_s
    return None if take is None else (take - 0.3, float(record.signals.time_s[-1]))


def turn_plot(
    canvas: Canvas, on: Surface, box: Any, record: StrokeRecord, limit_deg: float, theme_name: str, scale: float
) -> None:
    """The head's turn from just before the takeaway to its end, with the limit and the events it is held against."""
    theme, pg, letters = THEMES[theme_name], canvas.pg, LETTERS * scale
    pg.draw.rect(on, theme.panel, box, border_radius=6)
    take, span = record.events.takeaway_s, plot_span(record)
    if take is None or span is None:
        canvas.text(
            on, tr("head turn: the takeaway was not seen"), box.center, letters, theme.soft, "center", box.width * 0.9
        )
        return
    turning = HeadTurn(record.signals, take)
    inner = box.inflate(-24, -2.5 * letters)
    first, last = span
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
    canvas.text(on, words, (inner.left, box.top + 5), letters, theme.text)
    names: tuple[EventName, ...] = ("impact_s", "settle_s", "look_s")
    for name in names:
        when = turning.look(limit_deg) if name == "look_s" else record.events.named(name)
        if when is None:
            continue
        x = at(when, 0.0)[0]
        pg.draw.line(on, theme.soft, (x, inner.top), (x, inner.bottom), 1)
        row = box.bottom - 1.1 * letters if name != "look_s" else box.top + 5
        canvas.text(on, EVENT_WORDS[name], (x, row), letters, theme.soft, "midtop" if name != "look_s" else "topleft")
    points = [
        at(float(t), float(deg))
        for t, deg in zip(turning.time_s, turning.change, strict=True)
        if t >= first and math.isfinite(deg)
    ]
    if len(points) > 1:
        pg.draw.aalines(on, theme.text, False, points)
        pg.draw.lines(on, theme.text, False, points, 2)
    else:
        canvas.text(on, tr("not seen"), inner.center, letters, theme.soft, "center")
