"""`strokes`: the most recent strokes as a table, and the table that ends a demo or a practice."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Iterable, Iterator, NamedTuple, Sequence

import click

from trainer.commands.options import student
from trainer.commands.tables import console, print_fitting, table
from trainer.domain.naming import NAMELESS, for_student, kind_words
from trainer.domain.outcome import WHERE_WORDS
from trainer.domain.printable import printable
from trainer.texts import tr, tr_of

if TYPE_CHECKING:
    from rich.table import Table

    from trainer.app.strokes import Verdict
    from trainer.domain.record import StrokeRecord

FAULTS_CHARACTERS = 8  # as narrow as the column of faults may be
ROOM_FOR_FAULTS = 14  # and where columns are left out for it
# On a terminal too narrow for all columns these measures go first; then nothing is left out any more.
LEFT_OUT_FIRST = ("tempo_ratio", "through_cm", "hinge_change_deg", "back_cm")


class _StrokeCells(NamedTuple):
    """What a stroke was, in words. went: its ball; cells: of each measure."""

    kind: str
    went: str
    cells: dict[str, str]
    faults: str


@click.command()
@click.option(
    "--count", type=click.IntRange(1, 10_000), default=20, show_default=True, help="How many strokes to list."
)
@student("Only this student's strokes.")
@click.pass_obj
def strokes(folder: Path | None, /, **options: Any) -> int:
    """The most recent strokes of the record."""
    from trainer.app.context import load_context
    from trainer.app.strokes import COLUMNS, StrokesRequest, line_words, measure_cells, recent_strokes

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
    moments = found.moments
    rows = [
        (
            (name, moment, which, "-" if line.player == NAMELESS else line.player, line.source),
            _StrokeCells(
                kind_words(line.kind),
                "-" if line.went is None else WHERE_WORDS[line.went],
                dict(zip(COLUMNS, measure_cells(line.measures), strict=True)),
                line_words(line),
            ),
        )
        for (name, which, line), moment in zip(found.strokes, moments, strict=True)
    ]
    several = len({called[3] for called, _ in rows}) > 1
    print_fitting(console(), (_recent(rows, *one) for one in _narrower_and_narrower(several)))
    whose = for_student(request.student) if found.of_student and request.student else ""
    console().print(
        tr("See one again: review{whose} --stroke {strokes}", whose=whose, strokes=found.strokes[0][1]),
        soft_wrap=True,
        markup=False,
    )
    return 0


def _narrower_and_narrower(several: bool) -> Iterator[tuple[Sequence[int], Sequence[str], int]]:
    """What is shown of what a stroke is called, which measures, how wide the faults at least: ever less. When it was, its number,
    and whose it was where there are several players, stay on any terminal: rows are told apart by them."""
    from trainer.app.strokes import COLUMNS

    whose = (3,) if several else ()
    yield (0, 2, 3, 4), COLUMNS, FAULTS_CHARACTERS
    yield (0, 2, 3), COLUMNS, FAULTS_CHARACTERS
    yield (0, 2, *whose), COLUMNS, FAULTS_CHARACTERS
    yield (1, 2, *whose), COLUMNS, ROOM_FOR_FAULTS
    for count in range(1, len(LEFT_OUT_FIRST) + 1):
        left = [name for name in COLUMNS if name not in LEFT_OUT_FIRST[:count]]
        yield (1, 2, *whose), left, ROOM_FOR_FAULTS
    yield (1, 2, *whose), left, FAULTS_CHARACTERS


def _recent(
    rows: Sequence[tuple[tuple[str, ...], _StrokeCells]],
    columns: Sequence[int],
    measures: Sequence[str],
    faults_characters: int,
) -> Table:
    """rows: what a stroke is called, and what it was; columns: which of the first are shown. Where no ball is known to have gone
    anywhere nothing stands about it."""
    went = any(was.went != "-" for _, was in rows)
    out = table(narrow=True)
    named: tuple[tuple[str, dict[str, Any]], ...] = (
        (tr("stroke"), {}),
        (
            tr("when"),
            {"no_wrap": faults_characters > FAULTS_CHARACTERS},
        ),  # where all is as narrow as it may be it folds
        ("--stroke", {}),
        (tr("player"), {"overflow": "ellipsis", "max_width": 10}),
        (tr("from"), {"overflow": "ellipsis", "max_width": 11}),
    )
    for k in columns:
        out.add_column(named[k][0], **{"no_wrap": True, **named[k][1]})
    _add_measure_columns(out, measures, faults_characters, went)
    for called, was in rows:
        ball = (was.went,) if went else ()
        out.add_row(*(called[k] for k in columns), was.kind, *ball, *(was.cells[name] for name in measures), was.faults)
    return out


def stroke_table(rows: Iterable[tuple[int, StrokeRecord, Verdict]]) -> Table:
    """rows: each with the stroke's number."""
    from trainer.app.strokes import COLUMNS, measure_cells, verdict_words

    out = table(narrow=True)
    out.add_column(tr("no."), justify="right")
    _add_measure_columns(out, COLUMNS)
    for number, record, verdict in rows:
        words = verdict_words(verdict.faults, verdict.indeterminate, verdict.too_close)
        out.add_row(str(number), kind_words(record.kind), *measure_cells(record.measures), words)
    return out


def _add_measure_columns(
    out: Table, measures: Sequence[str], faults_characters: int = FAULTS_CHARACTERS, went: bool = False
) -> None:
    from trainer.domain.measures import MEASURES

    out.add_column(tr("kind"), no_wrap=True)
    if went:
        out.add_column(tr_of("ball", "went"), no_wrap=True)
    for name in measures:
        out.add_column(MEASURES[name].heading, justify="right", no_wrap=True)
    out.add_column(tr("faults"), min_width=faults_characters)
