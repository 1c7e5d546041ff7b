"""`lesson`: strokes as they are, one priority, what was tried, the same strokes again, a page to take home."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.app.lesson_length import STROKES
from trainer.commands.console import report
from trainer.commands.homework import homework_options, homework_request, report_set
from trainer.commands.options import CAMERA, CLIP, NO_WINDOW, STUDENT, handedness, view
from trainer.domain.naming import moment_words
from trainer.domain.printable import printable
from trainer.texts import join, tr

if TYPE_CHECKING:
    from trainer.app.practice.practice import Machine

_NUMBER = click.option(
    "--number", type=click.IntRange(1), metavar="N", help="Which lesson, from 1; default: the newest."
)


@click.group()
def lesson() -> None:
    """A lesson in steps, each kept at once: broken off, it is taken up where it stood. `lesson show` says what comes next."""


@lesson.command()
@STUDENT
@click.option("--by", "who", default="", metavar="WHO", help="The coach's name.")
@click.pass_obj
def begin(folder: Path | None, student: str, who: str) -> int:
    """Begin a lesson, or take up the one under way."""
    return _step(folder, student, lambda desk: desk.begin(who))


@lesson.command()
@STUDENT
@click.option(
    "--count",
    type=click.IntRange(3, 50),
    default=STROKES,
    show_default=True,
    help="How many ball strokes until it ends.",
)
@CAMERA
@CLIP
@handedness("Which way the player putts.")
@view("From which side the camera sees the player.")
@NO_WINDOW
@click.pass_obj
def strokes(folder: Path | None, /, **options: Any) -> int:
    """Strokes without feedback: as they are; later the same again."""
    return lesson_strokes(folder, **options)


def lesson_strokes(
    folder: Path | None,
    student: str,
    count: int = STROKES,
    no_window: bool = False,
    machine: Machine | None = None,
    **options: Any,
) -> int:
    """machine: another one than this, in tests."""
    from trainer.app.context import load_context
    from trainer.app.lesson import LessonDesk
    from trainer.commands.practice import PracticeOptions, practised

    context = load_context(folder)
    with context.open_store() as store:
        LessonDesk(context, store, student).under_way()
    asked = PracticeOptions(student=student, window=not no_window, schedule="silent", strokes=count, **options)
    outcome = practised(folder, asked, machine)
    if outcome.session is not None:
        session = outcome.session
        with context.open_store() as store:
            LessonDesk(context, store, student).strokes_made(session)
    if outcome.failure is not None:
        raise outcome.failure
    return _show(folder, student)


@lesson.command()
@click.argument("what", required=False)
@STUDENT
@click.option("--why", default="", metavar="TEXT", help="Why, for the page.")
@click.pass_obj
def priority(folder: Path | None, what: str | None, student: str, why: str) -> int:
    """Take what the trainer proposes, or say WHAT: a fault, or words of your own."""
    return _step(folder, student, lambda desk: desk.choose(what, why))


@lesson.command("try")
@click.argument("note")
@STUDENT
@click.option("--stroke", is_flag=True, help="The newest stroke on record was made so.")
@click.option("--picture", metavar="WHICH", help="A kept posture, as `posture --list` names it, or last.")
@click.pass_obj
def try_(folder: Path | None, note: str, student: str, stroke: bool, picture: str | None) -> int:
    """Note a change that was tried, in a line."""
    return _step(folder, student, lambda desk: desk.note_try(note, stroke, picture))


@lesson.command()
@click.argument("text")
@STUDENT
@click.pass_obj
def words(folder: Path | None, text: str, student: str) -> int:
    """The coach's words to take home."""
    code = _step(folder, student, lambda desk: desk.say(text))
    report(tr("kept for the page: {words}", words=printable(text)))
    return code


@lesson.command("homework")
@homework_options
@click.pass_obj
def homework_(folder: Path | None, /, **options: Any) -> int:
    """What to do this week, as `homework set` does, and on this lesson's page."""
    from trainer.app.context import load_context
    from trainer.app.lesson import give_homework

    request = homework_request(options)
    report_set(give_homework(load_context(folder), request), request)
    return 0


@lesson.command()
@STUDENT
@click.pass_obj
def end(folder: Path | None, student: str) -> int:
    """End the lesson under way."""
    return _step(folder, student, lambda desk: desk.end())


@lesson.command()
@STUDENT
@_NUMBER
@click.pass_obj
def show(folder: Path | None, student: str, number: int | None) -> int:
    """A lesson so far, and what comes next."""
    return _show(folder, student, number)


@lesson.command("list")
@STUDENT
@click.pass_obj
def list_lessons(folder: Path | None, student: str) -> int:
    """List all lessons of a student."""
    from trainer.app.context import load_context
    from trainer.app.lesson import LessonDesk, begin_words

    context = load_context(folder)
    with context.open_store() as store:
        desk = LessonDesk(context, store, student)
        found, name = desk.listed(), desk.student.name
    for number, (one, about) in enumerate(found, 1):
        state = tr("(ended)") if one.ended_at is not None else tr("(under way)")
        parts = (str(number), moment_words(one.begun_at), about or tr("not decided yet"), state)
        report(join("  ", parts))
    if not found:
        report(join("; ", (tr("no lesson yet"), begin_words(name))))
    return 0


@lesson.command()
@STUDENT
@_NUMBER
@click.option(
    "--out", metavar="FILE.html", type=click.Path(path_type=Path), help="Output file; default: in the current folder."
)
@click.pass_obj
def page(folder: Path | None, student: str, number: int | None, out: Path | None) -> int:
    """Write the page to take home."""
    from trainer.app.context import load_context
    from trainer.app.lesson_page import write_lesson_page

    report(tr("wrote {path}", path=write_lesson_page(load_context(folder), student, number, out)))
    return 0


def _step(folder: Path | None, student: str, work: Any) -> int:
    """work: one step at the student's desk; then how it stands."""
    from trainer.app.context import load_context
    from trainer.app.lesson import LessonDesk
    from trainer.app.lesson_words import lesson_lines

    context = load_context(folder)
    with context.open_store() as store:
        desk = LessonDesk(context, store, student)
        for line in lesson_lines(desk.view(work(desk))):
            report(line)
    return 0


def _show(folder: Path | None, student: str, number: int | None = None) -> int:
    return _step(folder, student, lambda desk: desk.chosen(number))
