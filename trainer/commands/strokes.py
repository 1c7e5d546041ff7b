"""`strokes`: the most recent strokes as a table, and the table that ends a demo or a practice."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Iterable, Sequence

import click

from trainer.commands.options import student
from trainer.commands.tables import console, table
from trainer.domain.naming import NAMELESS, for_student, kind_words
from trainer.domain.printable import printable
from trainer.texts import printed, tr

if TYPE_CHECKING:
    from rich.table import Table

    from trainer.app.strokes import Verdict
    from trainer.domain.record import StrokeRecord

# Of what a stroke is called (stroke, --stroke, player, from): what is shown on a wide terminal, and on narrower ones.
LESS_AND_LESS = (0, 1, 2, 3), (0, 1, 2), (1, 2), (1,)
ENDLESS = 1000  # characters
FAULTS_CHARACTERS = 8  # as narrow as the column of faults may be


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
    rows = [
        (
            (name, which, "-" if line.player == NAMELESS else line.player, line.source),
            (kind_words(line.kind), *measure_cells(line.measures), line_words(line)),
        )
        for name, which, line in found.strokes
    ]
    out = console()
    folds = max(0, max(len(printed(was[-1])) for _, was in rows) - FAULTS_CHARACTERS)  # of the last column, which may
    endless = out.options.update(width=ENDLESS)
    made = (_recent(rows, columns) for columns in LESS_AND_LESS)
    fitting = (one for one in made if out.measure(one, options=endless).maximum - folds <= out.width)
    out.print(next(fitting, None) or _recent(rows, LESS_AND_LESS[-1]))
    whose = for_student(request.student) if found.of_student and request.student else ""
    console().print(
        tr("See one again: review{whose} --stroke {strokes}", whose=whose, strokes=found.strokes[0][1]),
        soft_wrap=True,
        markup=False,
    )
    return 0


def _recent(rows: Sequence[tuple[tuple[str, ...], tuple[str, ...]]], columns: Sequence[int]) -> Table:
    """rows: what a stroke is called, and what it was; columns: which of the first are shown."""
    out = table(narrow=True)
    named: tuple[tuple[str, dict[str, Any]], ...] = (
        (tr("stroke"), {}),
        ("--stroke", {}),
        (tr("player"), {"overflow": "ellipsis", "max_width": 10}),
        (tr("from"), {"overflow": "ellipsis", "max_width": 11}),
    )
    for k in columns:
        out.add_column(named[k][0], no_wrap=True, **named[k][1])
    _add_measure_columns(out)
    for called, was in rows:
        out.add_row(*(called[k] for k in columns), *was)
    return out


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
    out.add_column(tr("faults"), min_width=FAULTS_CHARACTERS)
