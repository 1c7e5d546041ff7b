"""`students give`, `remove` and `join`: strokes under a wrong name, and one student under two."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Sequence

import click

from trainer.commands.console import report
from trainer.commands.options import stroke_chosen
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.texts import printed, tr

if TYPE_CHECKING:
    from trainer.app.reassign import Choice

_STROKES = click.argument("strokes", nargs=-1, required=True, metavar="STROKE...")
_YES = click.option("--yes", is_flag=True, help="Do not ask.")
_FROM = click.option("--from", "name", required=True, metavar="NAME", help='Whose they are on record; "-": nobody\'s.')


@click.command()
@_STROKES
@_FROM
@click.option("--to", required=True, metavar="NAME", help="The student whose they are.")
@click.pass_obj
def give(folder: Path | None, strokes: tuple[str, ...], name: str, to: str) -> int:
    """Give strokes to another student, for example: students give 6/1 --from Anna --to Robin

    STROKE is a number as `strokes --student` lists it, 2/5 or 5; 2/all is a whole session. Without a name, or with one
    that is no student's, it is as `strokes` lists it. On other computers they stay where they are.
    """
    from trainer.app.context import load_context
    from trainer.app.reassign import find_strokes, give_strokes

    context = load_context(folder)
    report(give_strokes(context, find_strokes(context, name, _choices(strokes)), to))
    return 0


@click.command()
@_STROKES
@_FROM
@_YES
@click.pass_obj
def remove(folder: Path | None, strokes: tuple[str, ...], name: str, yes: bool) -> int:
    """Take strokes out of the record for good; STROKE is as in `students give`.

    Importing an older file does not bring them back here; on other computers they are still there.
    """
    from trainer.app.context import load_context
    from trainer.app.reassign import find_strokes, take_out_strokes

    context = load_context(folder)
    found = find_strokes(context, name, _choices(strokes))
    question = tr("{listed} of {name} go for good. Remove", listed=found.listed, name=found.whose)
    if not yes and not _agreed(question, tr("removing asks first, and nobody is there to answer")):
        report(tr("nothing was removed"))
        return 0
    report(take_out_strokes(context, found))
    return 0


@click.command()
@click.argument("name")
@click.argument("into")
@_YES
@click.pass_obj
def join(folder: Path | None, name: str, into: str, yes: bool) -> int:
    """Make one student of two: all of NAME becomes INTO's, and NAME is gone. For example: students join "Anna at home" Anna

    It cannot be undone. Files of either are taken in as INTO's from then on.
    """
    from trainer.app.context import load_context
    from trainer.app.join import join_students, students_to_join

    context = load_context(folder)
    one, to = (printable(student.name) for student in students_to_join(context, name, into))
    question = tr("All of {name} becomes {to}'s, and that cannot be undone. Join", name=one, to=to)
    if not yes and not _agreed(question, tr("joining asks first, and nobody is there to answer")):
        report(tr("nobody was joined"))
        return 0
    for line in join_students(context, name, into):
        report(line)
    return 0


def _agreed(question: str, unattended: str) -> bool:
    """The user says yes. Raises UsageError where nobody can."""
    if not sys.stdin.isatty():
        raise UsageError(unattended, "", tr("add --yes"))
    return click.confirm(printed(question))


def _choices(texts: Sequence[str]) -> list[Choice]:
    from trainer.app.reassign import Session

    out: list[Choice] = []
    for text in texts:
        back, slash, every = text.rpartition("/")
        if slash and every == "all" and back.isdecimal() and len(back) <= 9:
            out.append(Session(int(back)))
        else:
            out.append(stroke_chosen(text, "STROKE"))
    return out
