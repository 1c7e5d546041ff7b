"""`strokes`: the most recent strokes as a table, and the table that ends a demo or a practice."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Iterable

import click

from trainer.commands.options import student
from trainer.commands.tables import console, table
from trainer.domain.naming import NAMELESS, for_student, kind_words
from trainer.domain.printable import printable
from trainer.texts import tr

if TYPE_CHECKING:
    from rich.table import Table

    from trainer.app.strokes import Verdict
    from trainer.domain.record import StrokeRecord


@click.command()
@click.option(
    "--count", type=click.IntRange(1, 10_000), default=20, show_default=True, help="How many strokes to list."
)
@student("Only this student's strokes.")
@click.pass_obj
def strokes(folder: Path | None, /, **options: Any) -> int:
    """The most recent strokes of the record."""
    from trainer.app.context import load_context
    from trainer.app.strokes import StrokesRequest, line_words, measure_cells, recent_strokes

    request = StrokesRequest(**options)
    found = recent_strokes(load_context(folder), request)
    if not found.strokes:
        whose = tr(" of {name}", name=printable(request.student)) if request.student else ""
        console().print(
            tr("no strokes{whose} on record yet in {folder}", whose=whose, folder=found.folder),
            soft_wrap=True,
            markup=False,
        )
        return 0
    out = table(narrow=True)
    out.add_column(tr("stroke"), no_wrap=True)
    out.add_column("--stroke", no_wrap=True)
    out.add_column(tr("player"), overflow="ellipsis", no_wrap=True, max_width=10)
    out.add_column(tr("from"), overflow="ellipsis", no_wrap=True, max_width=11)
    _add_measure_columns(out)
    for name, which, line in found.strokes:
        who = (name, which, "-" if line.player == NAMELESS else line.player, line.source)
        out.add_row(*who, kind_words(line.kind), *measure_cells(line.measures), line_words(line))
    console().print(out)
    whose = for_student(request.student) if found.of_student and request.student else ""
    console().print(
        tr("See one again: review{whose} --stroke {strokes}", whose=whose, strokes=found.strokes[0][1]),
        soft_wrap=True,
        markup=False,
    )
    return 0


def stroke_table(rows: Iterable[tuple[int, StrokeRecord, Verdict]]) -> Table:
    """rows: each with the stroke's number."""
    from trainer.app.strokes import measure_cells, verdict_words

    out = table(narrow=True)
    out.add_column(tr("no."), justify="right")
    _add_measure_columns(out)
    for number, record, verdict in rows:
        words = verdict_words(verdict.faults, verdict.indeterminate, verdict.too_close)
        out.add_row(str(number), kind_words(record.kind), *measure_cells(record.measures), words)
    return out


def _add_measure_columns(out: Table) -> None:
    from trainer.app.strokes import COLUMNS
    from trainer.domain.measures import MEASURES

    out.add_column(tr("kind"), no_wrap=True)
    for name in COLUMNS:
        out.add_column(MEASURES[name].heading, justify="right", no_wrap=True)
    out.add_column(tr("faults"), min_width=10)
