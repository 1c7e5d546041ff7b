"""`students`: list, show, add, set, rename, export, import and erase; `student_strokes`: give, remove, join."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from trainer.commands.console import report, warn
from trainer.commands.key_values import key_values
from trainer.commands.student_shown import print_facts, print_limits
from trainer.commands.student_strokes import give, join, remove
from trainer.commands.tables import console, table
from trainer.domain.naming import hand_words
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.texts import printed, tr, tr_count

_NAME = click.argument("name")


@click.group()
def students() -> None:
    """Students: their limits, drills and record; export, import; erasing."""


students.add_command(give)
students.add_command(remove)
students.add_command(join)


@students.command("list")
@click.pass_obj
def list_students(folder: Path | None) -> int:
    """All students, with how much is on record."""
    from trainer.app.context import load_context
    from trainer.app.students import list_students

    found, out = list_students(load_context(folder)), console()
    if not found.students and not found.faults:
        out.print(
            tr("no students yet in {base}; `students add NAME` makes one", base=found.base),
            soft_wrap=True,
            markup=False,
        )
        return 0
    rows = table(
        tr("name"),
        tr("putts"),
        tr("height\ncm"),
        tr("sessions"),
        tr("strokes"),
        tr("last"),
        tr("drills"),
        overflow="fold",
    )
    for student, recorded in found.students:
        player = student.settings.player
        rows.add_row(
            printable(student.name),
            hand_words(player.handedness),
            f"{player.height_cm:g}" if player.height_cm else "-",
            str(recorded.sessions),
            str(recorded.strokes),
            recorded.last_at[:10] if recorded.last_at else "-",
            ", ".join(student.card.drills) or "-",
        )
    out.print(rows)
    for line in found.faults:
        warn(line)
    return 2 if found.faults else 0


@students.command()
@_NAME
@click.pass_obj
def show(folder: Path | None, name: str) -> int:
    """All that is known of one student."""
    from trainer.app.context import load_context
    from trainer.app.students import show_student

    view = show_student(load_context(folder), name)
    print_facts(view)
    print_limits(view)
    return 0


@students.command()
@_NAME
@click.argument("values", nargs=-1, metavar="[KEY=VALUE]...")
@click.pass_obj
def add(folder: Path | None, name: str, values: tuple[str, ...]) -> int:
    """A new student, for example: students add Robin player.height_cm=172"""
    from trainer.app.context import load_context
    from trainer.app.students import add_student

    added = add_student(load_context(folder), name, key_values(values))
    taken = (
        tr_count(
            "; {count} earlier session of that name is theirs",
            "; {count} earlier sessions of that name are theirs",
            added.adopted,
        )
        if added.adopted
        else ""
    )
    report(tr("added {name}: {path}{taken}", name=printable(added.student.name), path=added.student.path, taken=taken))
    return 0


@students.command("set")
@_NAME
@click.argument("values", nargs=-1, metavar="KEY=VALUE...")
@click.option("--by", "who", default="", metavar="WHO", help="Who decides it, for the record.")
@click.option("--why", default="", metavar="TEXT", help="Why, for the record.")
@click.pass_obj
def set_(folder: Path | None, name: str, values: tuple[str, ...], who: str, why: str) -> int:
    """Change settings, for example: students set Robin limits.hand_stall.limit_deg=10 --why "hands are quiet now"

    An empty value takes a key out. config/defaults.toml lists the keys.
    """
    from trainer.app.context import load_context
    from trainer.app.student_file import Decision
    from trainer.app.students import SetRequest, set_student

    request = SetRequest(name, key_values(values), Decision(who, why))
    changed = set_student(load_context(folder), request)
    report(tr("changed {name}: {values}", name=printable(changed.name), values=", ".join(request.values)))
    return 0


@students.command()
@_NAME
@click.argument("new_name")
@click.pass_obj
def rename(folder: Path | None, name: str, new_name: str) -> int:
    """Give a student another name; the record goes along."""
    from trainer.app.context import load_context
    from trainer.app.students import rename_student

    before, after = rename_student(load_context(folder), name, new_name)
    report(tr("{name} is now {name2}", name=printable(before.name), name2=printable(after.name)))
    return 0


@students.command("export")
@_NAME
@click.option(
    "--out", metavar="FILE", type=click.Path(path_type=Path), help="Output file; default: in the current folder."
)
@click.option("--profile-only", is_flag=True, help="Profile, limits and drills; no strokes, distances, postures.")
@click.pass_obj
def export(folder: Path | None, /, **options: Any) -> int:
    """One export file of all there is of a student but the videos. It never overwrites another file."""
    from trainer.app.context import load_context
    from trainer.app.student_export import ExportRequest, export_student
    from trainer.app.student_words import exported_lines

    done = export_student(load_context(folder), ExportRequest(**options))
    for line in exported_lines(done):
        report(line)
    return 0


@students.command("import")
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--as", "name", metavar="NAME", help="Under another name, for a student not here yet.")
@click.option(
    "--limits",
    type=click.Choice(["ours", "theirs"]),
    help="Whose limits to keep; default: of each limit the newer.",
)
@click.pass_obj
def import_(folder: Path | None, /, **options: Any) -> int:
    """Take in an export file; what is here already stays."""
    from trainer.app.context import load_context
    from trainer.app.student_words import imported_lines
    from trainer.app.transfer import ImportRequest, import_student

    done = import_student(load_context(folder), ImportRequest(**options))
    for line in imported_lines(done):
        report(line)
    return 0


@students.command()
@_NAME
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.pass_obj
def erase(folder: Path | None, name: str, yes: bool) -> int:
    """Remove everything of a student, and say what."""
    from trainer.app.context import load_context
    from trainer.app.student_words import erased_lines, missing_lines
    from trainer.app.students import erase_student, student_to_erase, what_is_in_no_export

    context = load_context(folder)
    student = student_to_erase(context, name)
    if not yes:
        for line in missing_lines(what_is_in_no_export(context, student)):
            report(line)
        if not _confirmed(student.key.player):
            report(tr("nothing was erased"))
            return 0
    gone = erase_student(context, student)
    for line in missing_lines(gone.missing, gone_now=True) if yes else ():
        report(line)
    for line in erased_lines(student, gone):
        report(line)
    return 0


def _confirmed(name: str) -> bool:
    """The user types the name. Raises UsageError where nobody can."""
    if not sys.stdin.isatty():
        raise UsageError(tr("erasing asks first, and nobody is there to answer"), "", tr("add --yes"))
    question = tr("Everything of {name} goes for good. Type the name to erase", name=printable(name))
    return bool(click.prompt(printed(question), default="", show_default=False) == name)
