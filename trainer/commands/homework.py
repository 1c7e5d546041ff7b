"""`homework`: set for a student, shown with what was done of it, dropped."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.console import report
from trainer.commands.options import STUDENT, Within
from trainer.domain.naming import day_words, for_student
from trainer.domain.printable import printable
from trainer.texts import tr

if TYPE_CHECKING:
    from trainer.app.homework import HomeworkLine, HomeworkRequest

_DAY = click.DateTime(["%Y-%m-%d"])


def homework_options(command: Any) -> Any:
    """The options of setting homework, here and in a lesson."""
    for option in (
        click.option("--note", default="", metavar="TEXT", help="A few words to the student."),
        click.option("--by", "who", default="", metavar="WHO", help="Who sets it."),
        click.option(
            "--distance", "distance_m", type=Within(0.5, 25), metavar="M", help="Length of the putts, in metres."
        ),
        click.option("--from", "first", type=_DAY, metavar="DAY", help="First day; default: today."),
        click.option(
            "--until", type=_DAY, metavar="DAY", help="Last day, as 2026-03-31; default: two weeks from the first one."
        ),
        click.option(
            "--days", "days_a_week", type=click.IntRange(1, 7), default=4, show_default=True, help="Days a week."
        ),
        click.option(
            "--strokes", type=click.IntRange(1, 200), help="Strokes a day; default: the drill's block and silent test."
        ),
        STUDENT,
        click.argument("drill"),
    ):
        command = option(command)
    return command


@click.group()
def homework() -> None:
    """Homework: which drill, how much, until when; shown when the student starts, ticked off by what was done."""


@homework.command("set")
@homework_options
@click.pass_obj
def set_(folder: Path | None, /, **options: Any) -> int:
    """Set homework, for example: homework set hold-then-look --student Robin --days 4 --distance 2"""
    from trainer.app.context import load_context
    from trainer.app.homework import set_homework

    request = homework_request(options)
    report_set(set_homework(load_context(folder), request), request)
    return 0


def homework_request(options: dict[str, Any]) -> HomeworkRequest:
    """From the options as click gives them."""
    from trainer.app.homework import HomeworkRequest

    until, first = (_date(options.pop(name)) for name in ("until", "first"))
    return HomeworkRequest(**options, until=until, first=first)


def report_set(line: HomeworkLine, request: HomeworkRequest) -> None:
    report(
        tr(
            "homework {number} for {student}: {task}",
            number=line.number,
            student=printable(request.student),
            task=line.task,
        )
    )


def _date(given: datetime | None) -> date | None:
    return None if given is None else given.date()


@homework.command()
@STUDENT
@click.pass_obj
def show(folder: Path | None, student: str) -> int:
    """All homework of a student, with what was done."""
    from trainer.app.context import load_context
    from trainer.app.homework import show_homework

    name, lines = show_homework(load_context(folder), student)
    if not lines:
        report(tr("no homework for {name}; `homework set DRILL{whose}` sets some", name=name, whose=for_student(name)))
        return 0
    for line in lines:
        given = line.progress.homework
        by = tr(" by {who}", who=printable(given.who)) if given.who else ""
        report(
            tr(
                "{number}  {task}; {done} (set{by} {date})",
                number=line.number,
                task=line.task,
                done=line.done,
                by=by,
                date=day_words(given.set_at.astimezone().date()),
            )
        )
        if given.note:
            report(f"   {printable(given.note)}")
    return 0


@homework.command()
@click.argument("number", type=click.IntRange(1))
@STUDENT
@click.pass_obj
def drop(folder: Path | None, number: int, student: str) -> int:
    """Take homework back, by its number in `homework show`; what was done stays on record."""
    from trainer.app.context import load_context
    from trainer.app.homework import drop_homework

    line = drop_homework(load_context(folder), student, number)
    report(tr("dropped: {task}", task=line.task))
    return 0
