"""Pictures of progress and of one stroke, painted into a box of the start window."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Sequence

import numpy as np

from trainer.coaching.progress.proportions import Proportion
from trainer.domain.record import Events, StrokeRecord
from trainer.feedback.signs import THEMES, Theme
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface, between

SMALL = 16
MOST_SESSIONS = 40


def session_chart(
    canvas: Canvas, on: Surface, box: Any, theme_name: str, sessions: Sequence[tuple[date, Proportion]], today: date
) -> None:
    """sessions: day and share of good strokes. A dot a session, and a line over the share's 95 % interval."""
    from trainer.domain.naming import day_words

    theme, pg = THEMES[theme_name], canvas.pg
    pg.draw.rect(on, theme.panel, box, border_radius=6)
    inner = pg.Rect(box.left + 56, box.top + 14, box.width - 76, box.height - 14 - 30)
    for share in (0.0, 0.5, 1.0):
        y = inner.bottom - share * inner.height
        pg.draw.line(on, between(theme.panel, theme.soft, 0.5), (inner.left, y), (inner.right, y))
        canvas.text(on, tr("{share:.0%}", share=share), (inner.left - 6, y), SMALL, theme.soft, "midright")
    shown = sessions[-MOST_SESSIONS:]
    step = inner.width / max(1, len(shown))
    free = float(inner.left)
    before: tuple[float, float] | None = None
    for i, (day, found) in enumerate(shown):
        x = inner.left + (i + 0.5) * step

        def at(share: float) -> float:
            return float(inner.bottom - share * inner.height)

        pg.draw.line(on, theme.soft, (x, at(found.low)), (x, at(found.high)), 3)
        here = (x, at(found.value))
        if before is not None:
            pg.draw.aaline(on, between(theme.panel, theme.text, 0.6), before, here)
        before = here
        words = day_words(day, today)
        wide = canvas.width(words, SMALL)
        if x - wide / 2 > free:
            canvas.text(on, words, (x, inner.bottom + 7), SMALL, theme.soft, "midtop")
            free = x + wide / 2 + 12
    for i, (_, found) in enumerate(shown):
        place = (inner.left + (i + 0.5) * step, inner.bottom - found.value * inner.height)
        canvas.dot(on, place, 5, theme.text)


def putter_travel(canvas: Canvas, on: Surface, box: Any, theme_name: str, record: StrokeRecord) -> None:
    """The putter head along the line in time, + toward the target, with the events."""
    columns, signals = record.signals.columns, record.signals
    take = record.events.takeaway_s
    travel = columns.get("putter_along_px")
    theme = THEMES[theme_name]
    if take is None or travel is None or not np.isfinite(travel).any():
        _not_seen(canvas, on, box, theme)
        return
    scale = columns.get("ball_cm_per_px")
    known = scale[np.isfinite(scale)] if scale is not None else np.empty(0)
    per_px, unit = (float(np.median(known)), "cm") if known.size else (1.0, "px")
    end = next((t for t in (record.events.look_s, record.events.settle_s) if t is not None), take + 2.0) + 0.4
    use = (signals.time_s >= take - 0.4) & (signals.time_s <= end)
    times, values = signals.time_s[use], travel[use]
    seen = np.isfinite(values)
    times, values = times[seen], values[seen]
    if times.size < 2:
        _not_seen(canvas, on, box, theme)
        return
    _curve(canvas, on, box, theme, _Travel(times, (values - values[0]) * per_px, unit, record.events))


@dataclass(frozen=True)
class _Travel:
    """Seen values of the putter's way, in its unit."""

    times_s: Any
    values: Any
    unit: str
    events: Events


def _not_seen(canvas: Canvas, on: Surface, box: Any, theme: Theme) -> None:
    canvas.pg.draw.rect(on, theme.panel, box, border_radius=6)
    canvas.text(on, tr("putter: not seen"), box.center, 20, theme.soft, "center")


def _curve(canvas: Canvas, on: Surface, box: Any, theme: Theme, travel: _Travel) -> None:
    pg, times, values, unit = canvas.pg, travel.times_s, travel.values, travel.unit
    pg.draw.rect(on, theme.panel, box, border_radius=6)
    inner = box.inflate(-24, -52)
    low, high = float(values.min()), float(values.max())
    first, last = float(times[0]), float(times[-1])

    def at(t: float, value: float) -> tuple[float, float]:
        x = inner.left + (t - first) / max(last - first, 1e-6) * inner.width
        return float(x), float(inner.bottom - (value - low) / max(high - low, 1e-6) * inner.height)

    pg.draw.line(on, theme.soft, at(first, 0.0), at(last, 0.0))
    title = tr(
        "putter along the line: {low:.0f} {unit} back, {high:.0f} {unit} through", low=abs(low), unit=unit, high=high
    )
    canvas.text(on, title, (box.left + 12, box.top + 4), SMALL + 1, theme.text, width=box.width * 0.8)
    for when, word in (
        (travel.events.top_s, tr("top")),
        (travel.events.impact_s, tr("ball")),
        (travel.events.settle_s, tr("rest")),
    ):
        if when is not None and first <= when <= last:
            x = at(when, 0.0)[0]
            pg.draw.line(on, theme.soft, (x, inner.top), (x, inner.bottom))
            canvas.text(on, word, (x, box.bottom - 22), SMALL, theme.soft, "midtop")
    points = [at(float(t), float(v)) for t, v in zip(times, values, strict=True)]
    pg.draw.aalines(on, theme.text, False, points)
    pg.draw.lines(on, theme.text, False, points, 2)
