"""Tables for the terminal. rich is imported when one is made: the command line itself loads nothing heavy."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, Collection, Iterable, Literal

from trainer.domain.units import unit_words
from trainer.texts import printed, tr

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions, RenderResult
    from rich.table import Table

    from trainer.settings.limits import Limit

WIDTH_OF_A_FILE = 140  # where the output is no terminal
ENDLESS = 1000  # characters
SHORT_CELL = 12  # characters: what is no longer is not broken over lines where that can be helped


def console() -> Console:
    """Where tables are printed."""
    from rich.console import Console

    class Telling(Console):
        def print(self, *things: Any, **more: Any) -> None:
            super().print(*(printed(one) if isinstance(one, str) else one for one in things), **more)

    out = Telling(highlight=False, emoji=False)
    if not out.is_terminal and "COLUMNS" not in os.environ:
        out = Telling(highlight=False, emoji=False, width=WIDTH_OF_A_FILE)
    return out


def table(*headings: str, right: Collection[str] = (), narrow: bool = False, **column: Any) -> Table:
    """An empty table with a line under its headings. A cell's text is printed as it stands, whatever it looks like.

    right: headings of the columns of numbers; narrow: little room between columns; column: further options of every one.
    """
    from rich import box
    from rich.table import Table
    from rich.text import Text

    class PlainTable(Table):
        def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
            _lay_out(self, options.max_width)
            yield from super().__rich_console__(console, options)

        def add_row(self, *cells: Any, **more: Any) -> None:
            super().add_row(*(Text(printed(cell)) if isinstance(cell, str) else cell for cell in cells), **more)

        def add_column(self, header: Any = "", *given: Any, **more: Any) -> None:
            more.setdefault("overflow", "ellipsis" if more.get("no_wrap") else "fold")
            super().add_column(printed(header), *given, **more)

    out = PlainTable(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0)) if narrow else PlainTable(box=box.SIMPLE_HEAD)
    for heading in headings:
        side: Literal["left", "right"] = "right" if heading in right else "left"
        out.add_column(heading, justify=side, **column)
    return out


def print_fitting(out: Console, tables: Iterable[Table]) -> None:
    """The first whose numbers, names and words stand unbroken in the width there is; else the last. Headings may wrap."""
    one = None
    for one in tables:
        if sum(_least_widths(one, SHORT_CELL)) + _beside(one) <= out.width:
            break
    if one is not None:
        out.print(one)


def _lay_out(made: Any, width: int) -> None:
    """Columns as wide as their short cells at least, else as their words; where not even these fit, long words are broken first.
    rich narrows the widest column first, whatever stands in it."""
    room, wanted = width - _beside(made), _least_widths(made, ENDLESS)
    if sum(wanted) <= room:
        return
    tries = ((SHORT_CELL, ENDLESS), (0, ENDLESS), *((0, most) for most in range(max(wanted), 0, -1)))
    least = next((one for short, most in tries if sum(one := _least_widths(made, short, most)) <= room), None)
    if least is None:
        return
    for _ in range(room - sum(least)):
        neediest = max(range(len(least)), key=lambda k: wanted[k] - least[k])
        least[neediest] += wanted[neediest] > least[neediest]
    for column, own in zip(made.columns, least, strict=True):
        column.width = own


def _least_widths(made: Any, short: int, most: int = ENDLESS) -> list[int]:
    """Of the columns, where cells of up to so many characters (short) and words of up to so many (most) are not broken."""
    from rich.text import Text

    out: list[int] = []
    for column in made.columns:
        header = Text.from_markup(column.header) if isinstance(column.header, str) else column.header
        heading, lines = str(header).splitlines(), [line for cell in column.cells for line in str(cell).splitlines()]
        whole = [len(line) for line in lines if len(line) <= short or column.no_wrap]
        if column.no_wrap or short >= ENDLESS:
            whole += [len(line) for line in heading]
        words = [len(word) for line in (*heading, *lines) for word in line.split()]
        widest: int = min(max([column.min_width or 0, 1, *words, *whole]), most)
        out.append(widest if column.max_width is None else min(widest, int(column.max_width)))
    return out


def _beside(made: Any) -> int:
    """What lines and room between the columns take: ``table`` gives every column its padding, and a line's room before, between
    and after them."""
    _, right, _, left = made.padding
    return int((left + right + 1) * len(made.columns) + 1)


def escaped(text: str) -> str:
    """Text from people between markup: what looks like rich's markup is printed as it stands."""
    from rich.markup import escape

    return escape(printed(text))


def limit_cells(name: str, limit: Limit) -> tuple[str, ...]:
    """The beginning of a limit's row: its key, on or off, value, unit, range."""
    return (
        name,
        tr("on") if limit.on else tr("off"),
        tr("{value:g}", value=limit.value),
        unit_words(limit.unit),
        tr("{low:g} to {high:g}", low=limit.low, high=limit.high),
    )
