"""Tables for the terminal. rich is imported when one is made: the command line itself loads nothing heavy."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, Collection, Literal

from trainer.domain.units import unit_words
from trainer.texts import printed, tr

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from trainer.settings.limits import Limit

WIDTH_OF_A_FILE = 140  # where the output is no terminal


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
        def add_row(self, *cells: Any, **more: Any) -> None:
            super().add_row(*(Text(printed(cell)) if isinstance(cell, str) else cell for cell in cells), **more)

        def add_column(self, header: Any = "", *given: Any, **more: Any) -> None:
            super().add_column(printed(header), *given, **more)

    out = PlainTable(box=box.SIMPLE_HEAD, padding=(0, 1, 0, 0)) if narrow else PlainTable(box=box.SIMPLE_HEAD)
    for heading in headings:
        side: Literal["left", "right"] = "right" if heading in right else "left"
        out.add_column(heading, justify=side, **column)
    return out


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
