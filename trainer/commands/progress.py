"""`progress`: how a student is getting on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.tables import console, escaped, table
from trainer.domain.naming import moment_words
from trainer.domain.printable import printable

if TYPE_CHECKING:
    from rich.table import Table

    from trainer.app.progress import StudentProgress

BAR = 20  # letters of a whole bar
MAX_SESSIONS = 12
HEADINGS = (
    "session",
    "ball\nstrokes",
    "without\n*",
    "",
    "95 %\ninterval",
    "not\njudged",
    "no fault\nat all",
    "look after\nrest, s",
)


@click.command()
@click.option("--student", required=True, metavar="NAME", help="Whose.")
@click.option("--as-judged", is_flag=True, help="Verdicts as they were, not by today's limits.")
@click.pass_obj
def progress(folder: Path | None, /, **options: Any) -> int:
    """How a student is getting on."""
    from trainer.app.context import load_context
    from trainer.app.progress import ProgressRequest, student_progress

    _print(student_progress(load_context(folder), ProgressRequest(**options)))
    return 0


def _print(found: StudentProgress) -> None:
    out, progress = console(), found.progress
    ball = progress.ball_strokes
    sessions = len(progress.sessions)
    out.print(
        f"[bold]{escaped(printable(found.student.name))}[/bold]: {sessions} sessions, {ball} ball strokes",
        soft_wrap=True,
    )
    out.print()
    out.print(f"[bold]This week:[/bold] {escaped(progress.job.sentence)}", soft_wrap=True)
    drill = f" Drill: {progress.job.drill}." if progress.job.drill else ""
    out.print(f"{progress.job.why}{drill}", soft_wrap=True, markup=False)
    out.print()
    if sessions > MAX_SESSIONS:
        out.print(f"the last {MAX_SESSIONS} of {sessions} sessions:")
    out.print(_session_table(found))
    out.print(f"* {found.work_words}", soft_wrap=True, markup=False)
    if progress.described:
        out.print(_described_table(found))
    for homework in found.homework:
        out.print(f"Homework: {homework.task}; {homework.done}.", soft_wrap=True, markup=False)
    for line in found.sentences:
        out.print(line, soft_wrap=True, markup=False)


def _described_table(found: StudentProgress) -> Table:
    out = table(narrow=True)
    for heading in ("how the strokes are", "latest\nsession", "one stroke\n±", "before", ""):
        words = heading in ("how the strokes are", "")
        out.add_column(heading, justify="left" if words else "right", no_wrap=not words)
    for one in found.progress.described:
        out.add_row(*one.cells)
    return out


def _session_table(found: StudentProgress) -> Table:
    out = table(narrow=True)
    for heading in HEADINGS:
        words = heading in ("session", "")
        out.add_column(heading, justify="left" if words else "right", no_wrap=words)
    for session in found.progress.sessions[-MAX_SESSIONS:]:
        share, whole = found.progress.score(session), session.share
        unjudged = len(session.ball) - (share.total if share is not None else 0)
        beside = (str(unjudged or "-"), f"{whole.value:.0%}" if whole is not None else "-")
        looks = sorted(session.values("look_after_s"))
        look = f"{looks[len(looks) // 2]:+.2f}" if looks else "-"
        if share is None:
            out.add_row(moment_words(session.began, found.day), str(len(session.ball)), "-", "", "", *beside, look)
            continue
        filled = round(BAR * share.value)
        out.add_row(
            moment_words(session.began, found.day),
            str(len(session.ball)),
            f"{share.value:.0%}",
            "█" * filled + "·" * (BAR - filled),
            f"{100 * share.low:.0f}-{100 * share.high:.0f} %",
            *beside,
            look,
        )
    return out
