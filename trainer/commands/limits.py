"""`limits`: limits tried on the strokes on record, in a window or as a table; and what was set when, by whom, why."""

from __future__ import annotations

import sys
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any, Sequence

import click

from trainer.commands.console import report
from trainer.commands.key_values import key_values, limit_hint
from trainer.commands.options import STUDENT
from trainer.commands.tables import console, escaped, limit_cells, print_fitting, table
from trainer.domain.naming import for_student, kind_words
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.texts import join, tr

HEADINGS = (
    tr("limit"),
    tr("on"),
    tr("value"),
    tr("unit"),
    tr("range"),
    tr("would call"),
    tr("saved"),
    tr("calls"),
    tr("of seen"),
    tr("too close"),
)
NUMBERS = ("value", "would call", "saved", "calls", "of seen", "too close")
RANGE, TOO_CLOSE, SEEN = 4, 9, 8  # columns left out where the terminal is too narrow for all
LESS_AND_LESS = (), (RANGE,), (RANGE, TOO_CLOSE), (RANGE, TOO_CLOSE, SEEN)

if TYPE_CHECKING:
    from rich.table import Table

    from trainer.app.context import RunContext
    from trainer.app.limits import LimitsDesk, LimitsTable


@click.command()
@STUDENT
@click.argument("values", nargs=-1, metavar="[LIMIT=VALUE]...")
@click.option(
    "--count",
    type=click.Choice(["20", "100", "all"]),
    default="20",
    show_default=True,
    help="How many strokes to show.",
)
@click.option("--save", is_flag=True, help="Keep the limits given (without a window).")
@click.option("--by", "who", default="", metavar="WHO", help="Who decides it, for the record.")
@click.option("--why", default="", metavar="TEXT", help="Why, for the record.")
@click.option("--history", is_flag=True, help="Who set which limits, when and why.")
@click.option("--no-window", is_flag=True, help="A table in place of the window.")
@click.pass_obj
def limits(folder: Path | None, /, **options: Any) -> int:
    """Try limits on the strokes on record: which would have been called?

    For example: limits --student Robin hand_stall.limit_deg=10 --no-window
    """
    from trainer.app.context import load_context

    context = load_context(folder)
    if options["history"]:
        _print_history(context, options["student"])
        return 0
    save, who = options["save"], options["who"]
    values = key_values(options["values"])
    if other := [key for key in values if not key.startswith("limits.")]:
        raise UsageError(
            tr("{other} is no limit", other=printable(other[0])),
            "",
            tr("{other}; others: `students set`", other=limit_hint(other[0])),
        )
    if save and not who:
        raise UsageError(tr("say who decides it"), "--by", tr("add --by WHO"))
    if not save and not options["no_window"] and _shown(context, options, values):
        return 0
    from trainer.app.student_file import Decision

    desk = _desk(context, options, values)
    _print_table(desk.table())
    if save:
        report(desk.save(desk.limits, Decision(who, options["why"])))
    return 0


def _desk(context: RunContext, options: dict[str, Any], values: dict[str, Any]) -> LimitsDesk:
    from trainer.app.limits import LimitsDesk, LimitsRequest

    last = None if options["count"] == "all" else int(options["count"])
    return LimitsDesk(context, LimitsRequest(options["student"], values, last), _start)


def _start(arguments: Sequence[str]) -> object:
    import subprocess

    return subprocess.Popen([sys.executable, "-m", "trainer", *arguments])


def _shown(context: RunContext, options: dict[str, Any], values: dict[str, Any]) -> bool:
    """The window, until it is closed. False: there is no display, which is reported."""
    from trainer.ui.drawing.window import code_loaded, open_window

    window = open_window(context.settings.window, f"{printable(options['student'])}: limits")
    if window is None:
        report(tr("no display: the same as a table"))
        return False
    with closing(window):
        if code_loaded(window, "trainer.ui.limits.limits_window"):
            from trainer.ui.limits.limits_window import limits_in_window

            limits_in_window(window, _desk(context, options, values), context.settings.window)
    return True


def _print_table(found: LimitsTable) -> None:
    """What each limit would have called, and which strokes."""
    called = len(found.what_if.called())
    summary = tr("{number} of {total} strokes would be called", number=called, total=len(found.strokes))
    console().print(f"[bold]{escaped(found.name)}[/bold]: {escaped(summary)}", soft_wrap=True)
    print_fitting(console(), (_what_if_table(found, *left_out) for left_out in LESS_AND_LESS))
    report(found.note)
    if found.strokes:
        _print_called(found)
    else:
        makes = tr("`practice{whose}` makes some", whose=for_student(found.name))
        report(join("; ", (tr("no strokes of {name} yet", name=found.name), makes)))


def _what_if_table(found: LimitsTable, *left_out: int) -> Table:
    """left_out: columns."""
    shown = [k for k in range(len(HEADINGS)) if k not in left_out]
    out = table(*(HEADINGS[k] for k in shown), right=NUMBERS, narrow=True)
    for name, row in found.rows.items():
        limit, saved, before = getattr(found.what_if.limits, name), getattr(found.saved, name), found.saved_rows[name]
        cells = (
            *limit_cells(name, limit),
            str(len(row.called)) if limit.on else "-",
            tr("{value:g}", value=saved.value) if saved.on else tr("off"),
            str(len(before.called)) if saved.on else "-",
            str(row.judged),
            str(row.too_close or "-"),
        )
        out.add_row(*(cells[k] for k in shown))
    return out


def _print_called(found: LimitsTable) -> None:
    """The strokes that would be called, or were when moved limits may change that; newest first."""
    from trainer.app.strokes import NO_FAULTS, verdict_words
    from trainer.domain.verdict import fault_words

    out = table(
        tr("stroke"), "--stroke", tr("kind"), tr("by these limits"), tr("then, by the limits of then"), narrow=True
    )
    called = set(found.what_if.called())
    for i in range(len(found.strokes) - 1, -1, -1):
        stroke = found.strokes[i]
        if i in called or (found.moved and stroke.then):
            verdict = found.what_if.verdict(i)
            out.add_row(
                stroke.name,
                stroke.which,
                kind_words(stroke.record.kind),
                verdict_words(verdict.faults, verdict.indeterminate, verdict.too_close),
                join(", ", map(fault_words, stroke.then)) or NO_FAULTS,
            )
    if out.row_count:
        console().print(out)


def _print_history(context: RunContext, student: str) -> None:
    """Every change of the limits: when, who, why, and what it was about."""
    from trainer.app.limits import limits_history

    name, changes = limits_history(context, student)
    if not changes:
        report(tr("the limits of {name} were never changed", name=name))
        return
    out = table(tr("when"), tr("who"), tr("why"), tr("what"), narrow=True, overflow="fold")
    for change in changes:
        out.add_row(change.at, change.who or "-", change.why or "-", change.what)
    console().print(out)
