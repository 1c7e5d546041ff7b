"""`drills`: which there are, and one of them in words."""

from __future__ import annotations

from pathlib import Path

import click

from trainer.commands.console import warn
from trainer.commands.tables import console, table
from trainer.domain.naming import schedule_words
from trainer.texts import join, tr


@click.group()
def drills() -> None:
    """Drills: the bundled ones and your own in drills/ of the data folder."""


@drills.command("list")
@click.pass_obj
def list_drills(folder: Path | None) -> int:
    """List all drills."""
    from trainer.app.context import load_context
    from trainer.app.drills import block_strokes, list_drills, test_of

    found = list_drills(load_context(folder).base)
    out = table(tr("drill"), tr("what to do"), tr("strokes"), tr("feedback"), tr("passed with"), overflow="fold")
    for drill in found.drills:
        test, block = test_of(drill), block_strokes(drill)
        silence = tr("{strokes} in silence", strokes=test.strokes) if test is not None else ""
        out.add_row(
            drill.drill_id,
            drill.head.instruction,
            join(" + ", (part for part in (f"{block}" if block else "", silence) if part)),
            schedule_words(drill.feedback.schedule),
            tr("{good} of {strokes}, twice", good=test.good, strokes=test.strokes)
            if test is not None
            else tr("no silent test"),
        )
    console().print(out)
    for line in found.faults:
        warn(line)
    return 2 if found.faults else 0


@drills.command("show")
@click.argument("drill_id", metavar="DRILL")
@click.pass_obj
def show_drill(folder: Path | None, drill_id: str) -> int:
    """Describe one drill."""
    from trainer.app.context import load_context
    from trainer.app.drills import describe

    out = console()
    for line in describe(load_context(folder), drill_id):
        out.print(line, markup=False, soft_wrap=True)
    return 0
