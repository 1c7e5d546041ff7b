"""A page of the start window as values: what stands on it, and what each button does. Knows no pygame."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Callable, Literal, Mapping, Sequence

Values = Mapping[str, str]  # of a page's fields and choices, by name
Maker = Callable[[], "Page"]  # makes a page anew each time it is come back to
LISTED = 60  # rows of strokes on one page at most


@dataclass(frozen=True, slots=True)
class Opens:
    """Another page. over: it takes the place of so many, the newest ones, to which nobody comes back."""

    make: Maker
    over: int = 0


@dataclass(frozen=True, slots=True)
class Goes:
    """back: to the page before; home: to the first; stay: this one, made anew with what was typed; anew: with its fields as they
    were at first; quit. said: a line for the user; wrong: of something that is not as it should be.
    """

    where: Literal["back", "home", "stay", "anew", "quit"]
    said: str = ""
    wrong: bool = False


Next = Opens | Goes
Act = Callable[[Values], Next]
Look = Literal["plain", "main", "large", "row", "danger"]


@dataclass(frozen=True, slots=True)
class Button:
    """words: what it does; note: a smaller line; look: main: the usual way on; row: one of a list, its words at the left."""

    words: str
    act: Act
    note: str = ""
    look: Look = "plain"
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    text: str
    look: Literal["plain", "soft", "head"] = "plain"


@dataclass(frozen=True, slots=True)
class Buttons:
    """In as many columns as there is room for, at most so many."""

    buttons: tuple[Button, ...]
    columns: int = 4


@dataclass(frozen=True, slots=True)
class Column:
    heading: str
    buttons: tuple[Button, ...]


@dataclass(frozen=True, slots=True)
class Columns:
    """Headed columns of buttons beside one another; below one another where the window is narrow."""

    columns: tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class Field:
    """A line to type in."""

    name: str
    label: str
    value: str = ""
    most: int = 200  # letters


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few. options: (value, words)."""

    name: str
    label: str
    options: tuple[tuple[str, str], ...]
    value: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Cells of text; right: columns of numbers."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = frozenset()


Paint = Callable[[Any, Any, Any, str, float], None]  # on (canvas, surface, box, name of the theme, scale of letters)


@dataclass(frozen=True, slots=True)
class Picture:
    """Whatever is painted. height: px at scale 1."""

    paint: Paint = field(compare=False)
    height: int = 220


@dataclass(frozen=True, slots=True)
class Slide:
    """A number on an axis, dragged or moved by the arrows, and its switch. told: how it fares; paint: what stands on the axis.

    move: to a value; pick: what was pressed there, the second value being how near that is; None: there is nothing.
    """

    label: str
    told: str
    value: float
    span: tuple[float, float]
    step: float
    on: bool
    move: Callable[[float], Next] = field(compare=False)
    switch: Act = field(compare=False)
    pick: Callable[[float, float], Next | None] = field(compare=False)
    paint: Paint = field(compare=False)


@dataclass(frozen=True, slots=True)
class Slides:
    """In as many columns as there is room for."""

    slides: tuple[Slide, ...]


Element = Words | Buttons | Columns | Field | Choice | Table | Picture | Slides


@dataclass(frozen=True, slots=True)
class Page:
    """title: in big letters; beside: a button at the title's right; live: makes it anew so often (s), None: never.

    home: the page that all others come back to: it has no way back; foot: buttons below the body, in view while it scrolls.
    """

    title: str
    body: tuple[Element, ...]
    beside: tuple[Button, ...] = ()
    foot: tuple[Button, ...] = ()
    home: bool = False
    live_s: float | None = None
    on_drop: Callable[[str], Next] | None = field(default=None, compare=False)


def values_of(page: Page) -> dict[str, str]:
    """As the page gives them."""
    return {one.name: one.value for one in page.body if isinstance(one, (Field, Choice))}


@dataclass(frozen=True, slots=True)
class Shown:
    """All that is drawn. values: what was typed and chosen; focus: number of what a key would press; scroll: px; said: the
    line below; wrong: it is an error.
    """

    page: Page
    values: Values
    focus: int = 0
    scroll: int = 0
    said: str = ""
    wrong: bool = False
    way: Sequence[str] = ()
