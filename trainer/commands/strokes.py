"""`strokes`: the most recent strokes as a table, and the table that ends a demo or a practice."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Iterable, Mapping

import click

from trainer.commands.options import student
from trainer.commands.tables import console, table
from trainer.domain.printable import printable

if TYPE_CHECKING:
    from rich.table import Table

    from trainer.app.strokes import Verdict
    from trainer.domain.record import Measure, StrokeRecord

COLUMNS = (
    "hold_s", "early_by_s", "head_turn_deg", "hinge_change_deg", "tempo_ratio", "back_cm", "through_cm", "recoil_cm",
)  # fmt: skip


@click.command()
@click.option("--count", type=click.IntRange(1, 10_000), default=20, show_default=True, help="How many.")
@student("Of this student only.")
@click.pass_obj
def strokes(folder: Path | None, /, **options: Any) -> int:
    """The most recent strokes of the record."""
    from trainer.app.context import load_context
    from trainer.app.strokes import StrokesRequest, line_words, recent_strokes

    request = StrokesRequest(**options)
    found = recent_strokes(load_context(folder), request)
    if not found.strokes:
        whose = f" of {printable(request.student)}" if request.student else ""
        console().print(f"no strokes{whose} on record yet in {found.folder}", soft_wrap=True, markup=False)
        return 0
    out = table(narrow=True)
    out.add_column("stroke", no_wrap=True)
    out.add_column("--stroke", no_wrap=True)
    out.add_column("player", overflow="ellipsis", no_wrap=True, max_width=10)
    out.add_column("from", overflow="ellipsis", no_wrap=True, max_width=11)
    _add_measure_columns(out)
    for name, which, line in found.strokes:
        who = (name, which, line.player, line.source)
        out.add_row(*who, line.kind, *_values(line.measures), line_words(line))
    console().print(out)
    whose = f"--student {request.student} " if found.of_student else ""
    console().print(f"See one again: review {whose}--stroke {found.strokes[0][1]}", soft_wrap=True, markup=False)
    return 0


def stroke_table(rows: Iterable[tuple[int, StrokeRecord, Verdict]]) -> Table:
    """rows: each with the stroke's number."""
    from trainer.app.strokes import verdict_words

    out = table(narrow=True)
    out.add_column("no.", justify="right")
    _add_measure_columns(out)
    for number, record, verdict in rows:
        words = verdict_words(verdict.faults, verdict.indeterminate, verdict.too_close)
        out.add_row(str(number), record.kind, *_values(record.measures), words)
    return out


def _add_measure_columns(out: Table) -> None:
    from trainer.domain.measures import MEASURES

    out.add_column("kind", no_wrap=True)
    for name in COLUMNS:
        out.add_column(MEASURES[name].heading, justify="right", no_wrap=True)
    out.add_column("faults", min_width=10)


def _values(measures: Mapping[str, Measure]) -> list[str]:
    """The columns' values; a thing not seen, or not surely, is a dash."""
    return [_value(name, measures.get(name)) for name in COLUMNS]


def _value(name: str, measure: Measure | None) -> str:
    from trainer.domain.measures import FAR_TURN_DEG, MEASURES, confident_value

    value = confident_value(measure)
    if value is None:
        return "-"
    if name == "head_turn_deg" and abs(value) > FAR_TURN_DEG:
        return f"{'<-' if value < 0 else '>'}{FAR_TURN_DEG:.0f}"
    return f"{value:.{MEASURES[name].decimals}f}"
