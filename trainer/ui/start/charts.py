"""Pictures of progress and of one stroke, painted into a box of the start window."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Sequence

import numpy as np

from trainer.coaching.progress.proportions import Proportion
from trainer.domain.record import EventName, Events, StrokeRecord
from trainer.feedback.signs import THEMES, Theme
from trainer.replay.derived_signals import EVENT_WORDS
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface, between
from trainer.ui.limits.limits_drawing import plot_span

SMALL = 18  # px at scale 1
MOST_SESSIONS = 40
EVENTS: tuple[EventName, ...] = ("top_s", "impact_s", "settle_s")


@dataclass(frozen=True)
class Sessions:
    """scores: day and share of good strokes of each."""

    scores: Sequence[tuple[date, Proportion]]
    today: date


def session_chart(canvas: Canvas, on: Surface, box: Any, theme_name: str, scale: float, sessions: Sessions) -> None:
    """A dot a session, and a line over the share's 95 % interval."""
    from trainer.domain.naming import day_words

    theme, pg, letters = THEMES[theme_name], canvas.pg, SMALL * scale
    pg.draw.rect(on, theme.panel, box, border_radius=6)
    left, high = 3.5 * letters, 0.9 * letters
    inner = pg.Rect(box.left + left, box.top + high, box.width - left - 20 * scale, box.height - high - 1.9 * letters)
    for share in (0.0, 0.5, 1.0):
        y = inner.bottom - share * inner.height
        pg.draw.line(on, between(theme.panel, theme.soft, 0.5), (inner.left, y), (inner.right, y))
        canvas.text(on, tr("{share:.0%}", share=share), (inner.left - 6, y), letters, theme.soft, "midright")
    shown = sessions.scores[-MOST_SESSIONS:]
    step = inner.width / max(1, len(shown))
    free = float(inner.left)
    before: tuple[float, float] | None = None
    for i, (day, found) in enumerate(shown):
        x = inner.left + (i + 0.5) * step

        def at(share: float) -> float:
            return float(inner.bottom - share * inner.height)

        pg.draw.line(on, theme.soft, (x, at(found.low)), (x, at(found.high)), round(3 * scale))
        here = (x, at(found.value))
        if before is not None:
            pg.draw.aaline(on, between(theme.panel, theme.text, 0.6), before, here)
        before = here
        words = day_words(day, sessions.today)
        wide = canvas.width(words, round(letters))
        if x - wide / 2 > free:
            canvas.text(on, words, (x, inner.bottom + 0.4 * letters), letters, theme.soft, "midtop")
            free = x + wide / 2 + 12
    for i, (_, found) in enumerate(shown):
        place = (inner.left + (i + 0.5) * step, inner.bottom - found.value * inner.height)
        canvas.dot(on, place, 5 * scale, theme.text)


def putter_travel(canvas: Canvas, on: Surface, box: Any, theme_name: str, scale: float, record: StrokeRecord) -> None:
    """The putter head along the line in time, + toward the target, with the events."""
    columns, signals = record.signals.columns, record.signals
    span = plot_span(record)
    travel = columns.get("putter_along_px")
    theme = THEMES[theme_name]
    if span is None or travel is None or not np.isfinite(travel).any():
        _not_seen(canvas, on, box, theme, scale)
        return
    by_ball = columns.get("ball_cm_per_px")
    known = by_ball[np.isfinite(by_ball)] if by_ball is not None else np.empty(0)
    per_px, unit = (float(np.median(known)), "cm") if known.size else (1.0, "px")
    use = (signals.time_s >= span[0]) & (signals.time_s <= span[1])
    times, values = signals.time_s[use], travel[use]
    seen = np.isfinite(values)
    times, values = times[seen], values[seen]
    if times.size < 2:
        _not_seen(canvas, on, box, theme, scale)
        return
    _curve(canvas, on, box, theme, scale, _Travel(span, times, (values - values[0]) * per_px, unit, record.events))


@dataclass(frozen=True)
class _Travel:
    """Seen values of the putter's way, in its unit. span_s: what the box is wide."""

    span_s: tuple[float, float]
    times_s: Any
    values: Any
    unit: str
    events: Events


def _not_seen(canvas: Canvas, on: Surface, box: Any, theme: Theme, scale: float) -> None:
    canvas.pg.draw.rect(on, theme.panel, box, border_radius=6)
    canvas.text(on, tr("putter: not seen"), box.center, SMALL * scale, theme.soft, "center")


def _curve(canvas: Canvas, on: Surface, box: Any, theme: Theme, scale: float, travel: _Travel) -> None:
    letters = SMALL * scale
    pg, times, values, unit = canvas.pg, travel.times_s, travel.values, travel.unit
    pg.draw.rect(on, theme.panel, box, border_radius=6)
    inner = box.inflate(-24, -2.9 * letters)
    low, high = float(values.min()), float(values.max())
    first, last = travel.span_s

    def at(t: float, value: float) -> tuple[float, float]:
        x = inner.left + (t - first) / max(last - first, 1e-6) * inner.width
        return float(x), float(inner.bottom - (value - low) / max(high - low, 1e-6) * inner.height)

    pg.draw.line(on, theme.soft, at(first, 0.0), at(last, 0.0))
    title = tr(
        "putter along the line: {low:.0f} {unit} back, {high:.0f} {unit} through", low=abs(low), unit=unit, high=high
    )
    canvas.text(on, title, (box.left + 12, box.top + 4), letters, theme.text, width=box.width * 0.8)
    for name in EVENTS:
        when = travel.events.named(name)
        if when is not None and first <= when <= last:
            x = at(when, 0.0)[0]
            pg.draw.line(on, theme.soft, (x, inner.top), (x, inner.bottom))
            canvas.text(on, EVENT_WORDS[name], (x, box.bottom - 1.3 * letters), letters, theme.soft, "midtop")
    points = [at(float(t), float(v)) for t, v in zip(times, values, strict=True)]
    pg.draw.aalines(on, theme.text, False, points)
    pg.draw.lines(on, theme.text, False, points, 2)
