"""The signals over time under the picture: event marks, limits, the present instant, and what the numbers are there.

What does not change from frame to frame is drawn once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Callable

import numpy as np

from trainer.feedback.signs import OKABE_ITO, Colour, Theme
from trainer.replay.derived_signals import DerivedSignals, Reading
from trainer.replay.stroke_clip import StrokeClip
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface, between
from trainer.ui.review.scene import LEAST_PX

LEFT = (0.20, 1.20, 250)  # names and numbers: of the width, but at least so much of the height, and so many px
NAMES, NAME_LEFT, NAME_RIGHT = 0.54, 28, 10  # their share of it; px before and after them
MOST_LEFT = 0.35  # of the width, where a language's names are long
FULL_PX = 191  # the panel height that the sizes below are for; they grow and shrink with it
MARKS_PX = 24
MIN_RANGE = {"°": 20.0, "cm/s": 40.0, "cm": 16.0, "px": 30.0}  # a quiet signal is not blown up to fill its strip
MARK_LETTERS = 17
LIMIT_LETTERS = 15
NUMBER_LETTERS = 28
NAME_LETTERS = 21


@dataclass(frozen=True)
class Strip:
    """Signals that share one strip. columns: (name, colour, width of its line); both_ways: the limit counts below too."""

    columns: tuple[tuple[str, str, float], ...]
    limit: float | None = None
    both_ways: bool = False


def strips_of(stroke_clip: StrokeClip) -> tuple[Strip, ...]:
    """What there is to be shown of this stroke."""
    limits = stroke_clip.limits
    if stroke_clip.record.view != "face-on":
        on = limits.posture_change
        return (Strip((("spine_change_deg", "blue", 2.2),), on.value if on.on else None, True),)
    look, stall = limits.early_look, limits.hand_stall
    return (
        Strip((("head_turn_deg", "reddish purple", 2.2),), look.value if look.on else None),
        Strip((("hinge_change_deg", "sky blue", 2.2),), stall.value if stall.on else None),
        Strip((("putter_cm_s", "orange", 2.6), ("hands_cm_s", "bluish green", 1.6))),
        Strip((("hands_along_cm", "yellow", 2.2),)),
    )


class Curves:
    """Draws for one box and theme; ``span_s`` is what of the stroke's time is shown, from left to right.

    other: the stroke beside it, and which of its times belongs to a time of this one; drawn thin and grey.
    """

    def __init__(
        self,
        canvas: Canvas,
        box: Any,
        theme: Theme,
        stroke_clip: StrokeClip,
        tracked: DerivedSignals,
        other: tuple[DerivedSignals, Callable[[float], float]] | None = None,
    ) -> None:
        self._canvas, self.box, self._theme, self._tracked = canvas, box, theme, tracked
        self.strips = strips_of(stroke_clip)
        self.span_s = (stroke_clip.start_s, max(stroke_clip.end_s, stroke_clip.start_s + 0.1))
        self._unit = box.height / FULL_PX
        self._marks_px = round(MARKS_PX * self._unit)
        names = (tracked.reading(name, 0).label for strip in self.strips for name, *_ in strip.columns)
        longest = max(canvas.width(name, LEAST_PX) for name in names) + NAME_LEFT + NAME_RIGHT
        wide = max(LEFT[0] * box.width, LEFT[1] * box.height, LEFT[2], min(longest / NAMES, MOST_LEFT * box.width))
        left = box.left + round(wide)
        self.plot = canvas.pg.Rect(left, box.top + self._marks_px, box.right - left, box.height - self._marks_px)
        self.marks: list[tuple[Any, str]] = []  # (box on the window, the event's word)
        self._ranges = [self._range(strip, other) for strip in self.strips]
        self._background = self._picture(other)

    # ---- time and place

    def x_of(self, time_s: float) -> float:
        first, last = self.span_s
        share = (time_s - first) / (last - first)
        return float(self.plot.left) + share * float(self.plot.width - 1)

    def time_at(self, x: float) -> float:
        """The time under a place across the window, inside the span."""
        first, last = self.span_s
        share = (x - float(self.plot.left)) / max(1.0, float(self.plot.width - 1))
        return first + min(1.0, max(0.0, share)) * (last - first)

    def row(self, strip: int) -> Any:
        """The strip's box on the window."""
        high = self.plot.height / len(self.strips)
        top = self.plot.top + strip * high
        return self._canvas.pg.Rect(self.plot.left, round(top), self.plot.width, round(top + high) - round(top) - 3)

    # ---- drawing

    def draw(self, on: Surface, time_s: float, hover_s: float | None) -> list[Reading]:
        """The whole panel at that instant. hover_s: where the numbers are read instead, None: at the instant. Returns them."""
        pg, theme = self._canvas.pg, self._theme
        on.blit(self._background, self.box)
        at_s = time_s if hover_s is None else hover_s
        sample = self._tracked.sample(at_s)
        x = self.x_of(time_s)
        pg.draw.rect(on, theme.text, pg.Rect(round(x) - 1, self.plot.top, 3, self.plot.height))
        if hover_s is not None:
            pg.draw.line(on, theme.soft, (self.x_of(hover_s), self.plot.top), (self.x_of(hover_s), self.plot.bottom))
        readings = []
        for k, strip in enumerate(self.strips):
            row = self.row(k)
            high = row.height / len(strip.columns)
            for i, (name, colour, _) in enumerate(strip.columns):
                reading = self._tracked.reading(name, sample)
                readings.append(reading)
                y = row.top + (i + 0.5) * high
                size = max(LEAST_PX, min(NUMBER_LETTERS * self._unit, high * 0.86))
                wide = (1 - NAMES) * (self.plot.left - self.box.left)
                self._canvas.text(on, reading.text, (self.plot.left - 10, y), size, theme.text, "midright", wide)
                if reading.value is not None:
                    dot = (self.x_of(float(self._tracked.time_s[sample])), self._y(k, reading.value))
                    self._canvas.dot(on, dot, 4.5, self._ink(colour))
        return readings

    def _ink(self, colour: str) -> Colour:
        """Yellow is not seen on a light ground: darker there."""
        ink = OKABE_ITO[colour]
        return between(ink, self._theme.text, 0.4) if colour == "yellow" and sum(self._theme.ground) > 384 else ink

    def _y(self, strip: int, value: float) -> float:
        low, high = self._ranges[strip]
        row = self.row(strip)
        return float(row.bottom - 3 - (value - low) / (high - low) * (row.height - 6))

    def _range(self, strip: Strip, other: tuple[DerivedSignals, Any] | None) -> tuple[float, float]:
        columns = [self._shown(self._tracked, name) for name, _, _ in strip.columns]
        if other is not None:
            columns += [other[0].columns[name] for name, _, _ in strip.columns]
        values = np.concatenate(columns)
        values = values[np.isfinite(values)]
        low, high = (float(values.min()), float(values.max())) if len(values) else (0.0, 0.0)
        low, high = min(low, 0.0), max(high, 0.0, strip.limit or 0.0)
        smallest = MIN_RANGE[self._tracked.units[strip.columns[0][0]]]
        spare = max(0.0, smallest - (high - low)) / 2 + 0.06 * (high - low)
        return low - spare, high + spare

    def _shown(self, tracked: DerivedSignals, name: str) -> Any:
        use = (tracked.time_s >= self.span_s[0]) & (tracked.time_s <= self.span_s[1])
        return tracked.columns[name][use]

    def _picture(self, other: tuple[DerivedSignals, Callable[[float], float]] | None) -> Surface:
        """Grounds, names, limits, curves, marks: on a surface of the panel's own size."""
        pg, theme = self._canvas.pg, self._theme
        out = pg.Surface(self.box.size)
        out.fill(theme.ground)
        shift = (-self.box.left, -self.box.top)
        for k, strip in enumerate(self.strips):
            row = self.row(k).move(shift)
            pg.draw.rect(out, theme.panel, row)
            self._names(out, strip, row)
            zero = self._y(k, 0.0) + shift[1]
            pg.draw.line(out, between(theme.panel, theme.soft, 0.35), (row.left, zero), (row.right - 1, zero))
        self._events(out, shift)
        for k, strip in enumerate(self.strips):
            for name, colour, width in strip.columns:
                if other is not None:
                    self._curve(out, k, *self._of_other(other, name), between(theme.panel, theme.text, 0.5), 1.2)
                self._curve(out, k, self._tracked.time_s, self._tracked.columns[name], self._ink(colour), width)
        for k, strip in enumerate(self.strips):
            row = self.row(k).move(shift)
            if strip.limit is not None:
                for sign in (1, -1) if strip.both_ways else (1,):
                    self._limit(out, row, self._y(k, sign * strip.limit) + shift[1], strip, sign)
        return out

    def _names(self, out: Surface, strip: Strip, row: Any) -> None:
        high = row.height / len(strip.columns)
        for i, (name, colour, width) in enumerate(strip.columns):
            label = self._tracked.reading(name, 0).label
            y = row.top + (i + 0.5) * high
            self._canvas.pg.draw.line(out, self._ink(colour), (4, y), (22, y), round(width * 1.6))
            wide = NAMES * (self.plot.left - self.box.left) - NAME_LEFT - NAME_RIGHT
            size = max(LEAST_PX, min(NAME_LETTERS * self._unit, high * 0.75))
            self._canvas.text(out, label, (NAME_LEFT, y), size, self._theme.soft, "midleft", wide)

    def _limit(self, out: Surface, row: Any, y: float, strip: Strip, sign: int) -> None:
        if not row.top <= y < row.bottom:
            return
        for x in range(row.left, row.right, 12):
            self._canvas.pg.draw.line(out, self._theme.text, (x, y), (min(x + 7, row.right), y), 2)
        if sign > 0 and strip.limit is not None:
            unit = self._tracked.units[strip.columns[0][0]]
            # Before the takeaway, where the curves lie still; on the side of the line where there is room.
            size = max(LEAST_PX, round(LIMIT_LETTERS * self._unit))
            anchor = "topleft" if y - row.top < size + 3 else "bottomleft"
            words = self._canvas.rendered(
                tr("limit {limit:g}{unit}", limit=strip.limit, unit=unit), size, self._theme.soft
            )
            box = words.get_rect(**{anchor: (row.left + 6, round(y) + (2 if anchor == "topleft" else -2))})
            out.fill(self._theme.panel, box)
            out.blit(words, box)

    def _of_other(self, other: tuple[DerivedSignals, Callable[[float], float]], name: str) -> tuple[Any, Any]:
        tracked, theirs = other
        times = self._tracked.time_s
        at = np.array([theirs(float(t)) for t in times])
        column = tracked.columns[name]
        inside = (at >= tracked.time_s[0]) & (at <= tracked.time_s[-1])
        return times, np.where(inside, np.interp(at, tracked.time_s, column), np.nan)

    def _curve(self, out: Surface, strip: int, times: Any, values: Any, colour: Colour, width: float) -> None:
        use = (times >= self.span_s[0]) & (times <= self.span_s[1])
        points: list[tuple[float, float]] = []
        for t, v in zip(times[use], values[use], strict=True):
            if np.isfinite(v):
                points.append((self.x_of(float(t)) - self.box.left, self._y(strip, float(v)) - self.box.top))
                continue
            self._polyline(out, points, colour, width)
            points = []
        self._polyline(out, points, colour, width)

    def _polyline(self, out: Surface, points: list[tuple[float, float]], colour: Colour, width: float) -> None:
        if len(points) > 1:
            self._canvas.pg.draw.lines(out, colour, False, points, max(1, round(width)))
            self._canvas.pg.draw.aalines(out, colour, False, [(x, y - width / 2 + 0.5) for x, y in points])

    def _events(self, out: Surface, shift: tuple[int, int]) -> None:
        """A thin line down at each event and its word above; words that would meet stand side by side."""
        pg, theme = self._canvas.pg, self._theme
        shown = [(t, w) for w, t in self._tracked.events().items() if self.span_s[0] <= t <= self.span_s[1]]
        size, top = round(MARK_LETTERS * self._unit), self._marks_px
        wide = [round(self._canvas.width(word, size)) + 12 for _, word in shown]
        lefts = [self.x_of(t) + shift[0] - w / 2 for (t, _), w in zip(shown, wide, strict=True)]
        lefts = _apart(lefts, wide, self.plot.left + shift[0], self.plot.right + shift[0])
        for (time_s, word), left, w in zip(shown, lefts, wide, strict=True):
            x = self.x_of(time_s) + shift[0]
            chip = pg.Rect(round(left), 0, w, top - 4)
            pg.draw.rect(out, theme.panel, chip, border_radius=4)
            self._canvas.text(out, word, chip.center, size, theme.text, "center")
            pg.draw.aaline(out, theme.soft, (chip.centerx, chip.bottom), (x, top))
            pg.draw.line(out, between(theme.panel, theme.soft, 0.8), (x, top), (x, self.box.height - 4))
            self.marks.append((chip.move(-shift[0], -shift[1]), word))


def _apart(lefts: list[float], wide: list[int], low: float, high: float) -> list[float]:
    """Boxes moved just so far that none meets its neighbour and all stay inside."""
    out: list[float] = []
    for left in lefts:
        out.append(max(left, out[-1] + wide[len(out) - 1] + 4 if out else low))
    edge = high
    for i in range(len(out) - 1, -1, -1):
        out[i] = min(out[i], edge - wide[i])
        edge = out[i] - 4
    return out
