"""Charts as inline SVG that follows the page: its colours light and dark, its letters, its reader's voice."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from html import escape
from itertools import groupby
from typing import Callable, Iterable, Iterator, Literal, Sequence

Ink = Literal["ink", "soft", "line", "good", "bad", "band"]  # the page's own colours
XY = tuple[float, float]
LETTERS, SMALL = 10.0, 9.0  # a line's height, in the element's units, 72 to an inch
LETTER_WIDE = 0.56  # of its height, on average and rather too much; from memory
GAP = 4.0
MARGIN = 0.05  # of what is shown, left free on each side of it
DASHES = "4 3"


def element(size: XY, key: str, title: str, body: str) -> str:
    """The <svg> element. key: unique on the page; title: what a screen reader says instead of it."""
    return (
        f'<svg role="img" aria-labelledby="{key}-title" viewBox="0 0 {size[0]:g} {size[1]:g}">'
        f'<title id="{key}-title">{escape(title)}</title>{body}</svg>'
    )


def polyline(points: Iterable[XY], ink: Ink, width: float, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<polyline points="{_places(points)}" fill="none" style="stroke: var(--{ink})" stroke-width="{width:g}"'
        f' stroke-linecap="{"butt" if dashes or ink == "band" else "round"}" stroke-linejoin="round"{dashed}/>'
    )


def circle(at: XY, radius: float, ink: Ink, width: float = 0.0, opacity: float = 1.0) -> str:
    """width: of its rim; 0: it is filled."""
    paint = f'fill="none" style="stroke: var(--{ink})" stroke-width="{width:g}"' if width else _filled(ink, opacity)
    return f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{radius:.1f}" {paint}/>'


@dataclass
class Axis:
    """low, high: what is shown, None: all there is and a little more; ticks: (value, words), None: round numbers."""

    label: str = ""
    low: float | None = None
    high: float | None = None
    ticks: Sequence[tuple[float, str]] | None = None
    about: int = 5  # so many round numbers
    values: list[float] = field(default_factory=list)

    def see(self, values: Iterable[float]) -> None:
        self.values += [float(value) for value in values if math.isfinite(value)]

    def span(self) -> tuple[float, float]:
        least, most = min(self.values, default=0.0), max(self.values, default=1.0)
        free = MARGIN * (most - least) or 0.5
        return (least - free if self.low is None else self.low), (most + free if self.high is None else self.high)

    def marks(self) -> list[tuple[float, str]]:
        low, high = self.span()
        if self.ticks is not None:
            return [(value, words) for value, words in self.ticks if min(low, high) <= value <= max(low, high)]
        step = _round_step((high - low) / self.about)
        places = max(0, -math.floor(math.log10(step) + 1e-9))
        first = math.ceil(low / step - 1e-9)
        found = [step * n for n in range(first, math.floor(high / step + 1e-9) + 1)]
        return [(value, f"{value + 0.0:.{places}f}".replace("-", "−")) for value in found]


Place = Callable[[XY, bool], XY]


@dataclass(frozen=True)
class _Mark:
    """points: (x, y) in the axes' values; kind: how they are drawn."""

    kind: Literal["line", "dots", "diamonds", "area"]
    points: Sequence[XY]
    ink: Ink
    size: float = 1.0
    dashes: str = ""
    opacity: float = 1.0
    right: bool = False  # by the axis at the right


class Chart:
    """Say what is shown in values, then ``svg``; what is said first lies under the rest. width, height: inches."""

    def __init__(self, width: float, height: float) -> None:
        self._size = (72 * width, 72 * height)
        self.x, self.y, self.right = Axis(about=7), Axis(), Axis()
        self._marks: list[_Mark] = []
        self._across: list[tuple[float, Ink, float, str, str]] = []  # whole lines: y, ink, width, dashes, words
        self._upright: list[tuple[float, Ink, float, str]] = []  # x, ink, width, words

    def line(self, points: Iterable[XY], ink: Ink, width: float = 1.8, dashes: str = "", right: bool = False) -> None:
        """Broken where a value is no number."""
        self._add(_Mark("line", tuple(points), ink, width, dashes, right=right))

    def dots(self, points: Iterable[XY], ink: Ink, size: float, opacity: float = 1.0, diamonds: bool = False) -> None:
        self._add(_Mark("diamonds" if diamonds else "dots", tuple(points), ink, size, opacity=opacity))

    def area(self, low: Iterable[XY], high: Iterable[XY]) -> None:
        """The band between two lines."""
        self._add(_Mark("area", (*low, *reversed(tuple(high))), "band"))

    def across(self, y: float, ink: Ink, width: float = 0.8, dashes: str = "", words: str = "") -> None:
        """From side to side. words: at its right end."""
        self.y.see([y])
        self._across.append((y, ink, width, dashes, words))

    def upright(self, x: float, ink: Ink, words: str) -> None:
        """From below to above. words: on top of it."""
        self._upright.append((x, ink, 0.8, words))

    def svg(self, key: str, title: str) -> str:
        left, top, wide, high = self._box()
        (x0, x1), (y0, y1), (r0, r1) = self.x.span(), self.y.span(), self.right.span()

        def place(point: XY, right: bool) -> XY:
            low, most = (r0, r1) if right else (y0, y1)
            across, up = (point[0] - x0) / (x1 - x0), (point[1] - low) / (most - low)
            return left + wide * across, top + high * (1.0 - min(max(up, -0.1), 1.1))

        parts = [_drawn(mark, place) for mark in self._marks if mark.kind == "area"]
        for y, ink, width, dashes, words in self._across:
            level = place((x0, y), False)[1]
            parts.append(polyline([(left, level), (left + wide, level)], ink, width, dashes))
            parts.append(_text((left + wide + GAP, level + 0.35 * SMALL), words, ink, "start", SMALL))
        for x, ink, width, words in self._upright:
            middle = place((x, y0), False)[0]
            parts.append(polyline([(middle, top), (middle, top + high)], ink, width))
            parts.append(_text((middle, top - GAP), words, ink, "middle", SMALL))
        parts += [_drawn(mark, place) for mark in self._marks if mark.kind != "area"]
        parts += self._axes(place)
        return element(self._size, key, title, "".join(parts))

    def _add(self, mark: _Mark) -> None:
        self.x.see(point[0] for point in mark.points)
        (self.right if mark.right else self.y).see(point[1] for point in mark.points)
        self._marks.append(mark)

    def _box(self) -> tuple[float, float, float, float]:
        """(left, top, width, height) of what lies within the axes."""
        rows = max((words.count("\n") for _, words in self.x.marks()), default=0) + 1
        below = 3 * GAP + 1.2 * LETTERS * (rows + bool(self.x.label))
        above = 2 * GAP + (SMALL if self._upright else 0.0)
        left = 4 * GAP + LETTERS * bool(self.y.label) + _widest(self.y)
        right = 2 * GAP + max((_wide(words, SMALL) for *_, words in self._across), default=0.0)
        if self.right.values:
            right += 2 * GAP + LETTERS + _widest(self.right)
        return left, above, self._size[0] - left - right, self._size[1] - above - below

    def _axes(self, place: Place) -> Iterator[str]:
        """Lines, ticks and words around what is shown."""
        left, top, wide, high = self._box()
        bottom = top + high
        yield polyline([(left, top), (left, bottom), (left + wide, bottom)], "soft", 0.8)
        rows = 1
        for x, words in self.x.marks():
            at = place((x, 0.0), False)[0]
            rows = max(rows, words.count("\n") + 1)
            yield polyline([(at, bottom), (at, bottom + GAP)], "soft", 0.8)
            yield _text((at, bottom + GAP + 1.2 * LETTERS), words, "soft", "middle")
        middle = left + wide / 2
        yield _text((middle, bottom + 2 * GAP + 1.2 * LETTERS * (rows + 1)), self.x.label, "soft", "middle")
        for y, words in self.y.marks():
            at = place((0.0, y), False)[1]
            yield polyline([(left - GAP, at), (left, at)], "soft", 0.8)
            yield _text((left - 2 * GAP, at + 0.35 * LETTERS), words, "soft", "end")
        yield _on_its_side((LETTERS, top + high / 2), self.y.label)
        for y, words in self.right.marks() if self.right.values else ():
            yield _text((left + wide + GAP, place((0.0, y), True)[1] + 0.35 * LETTERS), words, "soft", "start")
        if self.right.values:
            yield _on_its_side((self._size[0] - GAP, top + high / 2), self.right.label)


def _drawn(mark: _Mark, place: Place) -> str:
    if mark.kind == "line":
        whole = groupby(mark.points, key=lambda point: math.isfinite(point[0]) and math.isfinite(point[1]))
        runs = [[place(point, mark.right) for point in run] for seen, run in whole if seen]
        return "".join(polyline(run, mark.ink, mark.size, mark.dashes) for run in runs)
    places = [place(point, mark.right) for point in mark.points]
    if mark.kind == "area":
        return f'<polygon points="{_places(places)}" {_filled(mark.ink)}/>'
    if mark.kind == "dots":
        return "".join(circle(at, mark.size / 2, mark.ink, opacity=mark.opacity) for at in places)
    far = 0.7 * mark.size
    corners = [[(x, y - far), (x + far, y), (x, y + far), (x - far, y)] for x, y in places]
    return "".join(f'<polygon points="{_places(four)}" {_filled(mark.ink, mark.opacity)}/>' for four in corners)


def _filled(ink: Ink, opacity: float = 1.0) -> str:
    return f'style="fill: var(--{ink})"' + (f' fill-opacity="{opacity:g}"' if opacity < 1.0 else "")


def _places(points: Iterable[XY]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _text(at: XY, words: str, ink: Ink, anchor: str, letters: float = LETTERS, turn: str = "") -> str:
    """Of several lines, the first one there."""
    look = f'text-anchor="{anchor}" style="fill: var(--{ink}); font-size: {letters:g}px; font-family: inherit"{turn}'
    lines = words.split("\n") if words else []
    return "".join(
        f'<text x="{at[0]:.1f}" y="{at[1] + 1.2 * letters * n:.1f}" {look}>{escape(line.strip())}</text>'
        for n, line in enumerate(lines)
    )


def _on_its_side(at: XY, words: str) -> str:
    return _text(at, words, "soft", "middle", turn=f' transform="rotate(-90 {at[0]:.1f} {at[1]:.1f})"')


def _wide(words: str, letters: float = LETTERS) -> float:
    """About so wide is its widest line."""
    return max(map(len, words.split("\n"))) * LETTER_WIDE * letters


def _widest(axis: Axis) -> float:
    return max((_wide(words) for _, words in axis.marks()), default=0.0)


def _round_step(least: float) -> float:
    """1, 2 or 5 times a power of ten, no less than that."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * n for n in (1, 2, 5, 10) if power * n >= least * (1 - 1e-9))
