"""`progress`: how a student is getting on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.options import STUDENT
from trainer.commands.tables import console, escaped, print_fitting, table
from trainer.domain.naming import moment_words
from trainer.domain.printable import printable
from trainer.texts import join, tr, tr_count

if TYPE_CHECKING:
    from rich.table import Table

    from trainer.app.progress import StudentProgress

BAR = 20  # letters of a whole bar
# Columns left out where the terminal is too narrow for all: the bar says what the number beside it does.
BAR_COLUMN, UNJUDGED_COLUMN, LOOK_COLUMN = 3, 5, 7
LESS_AND_LESS = (), (BAR_COLUMN,), (BAR_COLUMN, UNJUDGED_COLUMN), (BAR_COLUMN, UNJUDGED_COLUMN, LOOK_COLUMN)
MAX_SESSIONS = 12
HEADINGS = (
    tr("session"),
    tr("ball\nstrokes"),
    tr("held\n*"),
    "",
    tr("95 %\ninterval"),
    tr("not\njudged"),
    tr("no fault\nat all"),
    tr("look after\nrest, s"),
)
THIS_WEEK = tr("This week:")
DESCRIBED = (tr("how the strokes are"), tr("latest\nsession"), tr("one stroke\n±"), tr("before"), "")


@click.command()
@STUDENT
@click.option("--as-judged", is_flag=True, help="Use the verdicts as they were, not today's limits.")
@click.pass_obj
def progress(folder: Path | None, /, **options: Any) -> int:
    """How a student is getting on."""
    from trainer.app.context import load_context
    from trainer.app.progress import ProgressRequest, student_progress

    _print(student_progress(load_context(folder), ProgressRequest(**options)))
    return 0


def _print(found: StudentProgress) -> None:
    out, progress = console(), found.progress
    sessions = len(progress.sessions)
    counted = join(
        ", ",
        (
            tr_count("{count} session", "{count} sessions", sessions),
            tr_count("{count} ball stroke", "{count} ball strokes", progress.ball_strokes),
        ),
    )
    out.print(f"[bold]{escaped(printable(found.student.name))}[/bold]: {escaped(counted)}", soft_wrap=True)
    out.print()
    out.print(f"[bold]{escaped(THIS_WEEK)}[/bold] {escaped(progress.job.sentence)}", soft_wrap=True)
    drill = tr(" Drill: {drill}.", drill=progress.job.drill) if progress.job.drill else ""
    out.print(join("", (progress.job.why, drill)), soft_wrap=True, markup=False)
    out.print()
    if sessions > MAX_SESSIONS:
        out.print(tr("the last {max_sessions} of {sessions} sessions:", max_sessions=MAX_SESSIONS, sessions=sessions))
    print_fitting(out, (_session_table(found, *left_out) for left_out in LESS_AND_LESS))
    out.print(join("", ("* ", found.asked_words)), soft_wrap=True, markup=False)
    if progress.described:
        out.print(_described_table(found))
    for homework in found.homework:
        out.print(tr("Homework: {task}; {done}.", task=homework.task, done=homework.done), soft_wrap=True, markup=False)
    for line in found.sentences:
        out.print(line, soft_wrap=True, markup=False)


def _described_table(found: StudentProgress) -> Table:
    out = table(narrow=True)
    for heading in DESCRIBED:
        words = heading in ("how the strokes are", "")
        out.add_column(heading, justify="left" if words else "right", no_wrap=not words)
    for one in found.progress.described:
        out.add_row(*one.cells)
    return out


def _session_table(found: StudentProgress, *left_out: int) -> Table:
    """left_out: columns."""
    out = table(narrow=True)
    good = (*HEADINGS[:2], tr("good\n*"), *HEADINGS[3:])
    shown = [k for k in range(len(HEADINGS)) if k not in left_out]
    for heading in ((HEADINGS if found.about_the_hold else good)[k] for k in shown):
        words = heading in ("session", "")
        out.add_column(heading, justify="left" if words else "right", no_wrap=words)
    for session in found.progress.sessions[-MAX_SESSIONS:]:
        share, whole = found.progress.score(session), session.share
        unjudged = len(session.ball) - (share.total if share is not None else 0)
        beside = (str(unjudged or "-"), tr("{share:.0%}", share=whole.value) if whole is not None else "-")
        looks = sorted(session.values("look_after_s"))
        look = tr("{look:+.2f}", look=looks[len(looks) // 2]) if looks else "-"
        score = ("-", "", "")
        if share is not None:
            filled = round(BAR * share.value)
            score = (
                tr("{share:.0%}", share=share.value),
                "█" * filled + "·" * (BAR - filled),
                tr("{low:.0f}-{high:.0f} %", low=100 * share.low, high=100 * share.high),
            )
        row = (moment_words(session.began, found.day), str(len(session.ball)), *score, *beside, look)
        out.add_row(*(row[k] for k in shown))
    return out
