"""`students`: list, show, add, set, rename, export, import and erase."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.console import report, warn
from trainer.commands.key_values import key_values
from trainer.commands.tables import console, escaped, table
from trainer.domain.naming import moment_words
from trainer.domain.printable import printable
from trainer.errors import UsageError

if TYPE_CHECKING:
    from trainer.app.students import StudentFiles, StudentView

_NAME = click.argument("name")


@click.group()
def students() -> None:
    """Students: their limits, drills and record; export, import; erasing."""


@students.command("list")
@click.pass_obj
def list_students(folder: Path | None) -> int:
    """All students, with how much is on record."""
    from trainer.app.context import load_context
    from trainer.app.students import list_students

    found, out = list_students(load_context(folder)), console()
    if not found.students and not found.faults:
        out.print(f"no students yet in {found.base}; `students add NAME` makes one", soft_wrap=True, markup=False)
        return 0
    rows = table("name", "putts", "height\ncm", "sessions", "strokes", "last", "drills", overflow="fold")
    for student, recorded in found.students:
        player = student.settings.player
        rows.add_row(
            printable(student.name),
            f"{player.handedness}-handed",
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
    _print_facts(view)
    _print_limits(view)
    return 0


def _print_facts(view: StudentView) -> None:
    from rich.table import Table

    player, card, camera, mode = (
        view.student.settings.player,
        view.student.card,
        view.student.settings.camera,
        view.mode,
    )
    facts = [
        ("name", printable(view.student.name)),
        ("putts", f"{player.handedness}-handed"),
        ("height", f"{player.height_cm:g} cm" if player.height_cm else "not known"),
        ("camera", f"{camera.source}, {camera.view}, {mode.width}x{mode.height} at {mode.fps:g}/s"),
        ("feedback", view.student.settings.feedback.schedule),
        ("drills", ", ".join(card.drills) or "none"),
        ("notes", card.notes or "none"),
        ("file", str(view.student.path)),
        ("record", f"{view.recorded.strokes} strokes in {view.recorded.sessions} sessions"),
        ("video", _files_line(view.files)),
    ]
    if view.last_change is not None:
        last = view.last_change
        why = f": {last.why}" if last.why else ""
        facts.append(("limits set", f"{moment_words(datetime.fromisoformat(last.at))} by {last.who or 'unknown'}{why}"))
    facts += [("profile", line) for line in view.profile]
    facts += [("homework", f"{line.task}; {line.done}") for line in view.homework]
    grid = Table.grid(padding=(0, 2))
    for key, value in facts:
        grid.add_row(key, escaped(value))
    console().print(grid)


def _files_line(files: StudentFiles) -> str:
    from trainer.app.student_words import megabytes

    of_strokes = f", {files.of_strokes} of them strokes" if files.of_strokes else ""
    return (
        f"{files.files} files{of_strokes}, {megabytes(files.size_bytes)} in {files.folder}"
        if files.files
        else "none kept"
    )


def _print_limits(view: StudentView) -> None:
    limits = view.student.settings.limits
    out = table("limit", "on", "value", "unit", "range", right=("value",), no_wrap=True)
    out.add_column("what")
    for name, limit in limits:
        out.add_row(
            name,
            "on" if limit.on else "off",
            f"{limit.value:g}",
            limit.unit,
            f"{limit.low:g} to {limit.high:g}",
            limit.note,
        )
    console().print(out)


@students.command()
@_NAME
@click.argument("values", nargs=-1, metavar="[KEY=VALUE]...")
@click.pass_obj
def add(folder: Path | None, name: str, values: tuple[str, ...]) -> int:
    """A new student, for example: students add Robin player.height_cm=172"""
    from trainer.app.context import load_context
    from trainer.app.students import add_student

    added = add_student(load_context(folder), name, key_values(values))
    taken = f"; {added.adopted} earlier sessions of that name are theirs" if added.adopted else ""
    report(f"added {printable(added.student.name)}: {added.student.path}{taken}")
    return 0


@students.command("set")
@_NAME
@click.argument("values", nargs=-1, metavar="KEY=VALUE...")
@click.option("--by", "who", default="", metavar="WHO", help="Who decided it, for the record.")
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
    report(f"changed {printable(changed.name)}: {', '.join(request.values)}")
    return 0


@students.command()
@_NAME
@click.argument("new_name")
@click.pass_obj
def rename(folder: Path | None, name: str, new_name: str) -> int:
    """Another name; the record goes along."""
    from trainer.app.context import load_context
    from trainer.app.students import rename_student

    before, after = rename_student(load_context(folder), name, new_name)
    report(f"{printable(before.name)} is now {printable(after.name)}")
    return 0


@students.command("export")
@_NAME
@click.option("--out", metavar="FILE", type=click.Path(path_type=Path), help="Where to; else a file in this folder.")
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
@click.option("--limits", type=click.Choice(["ours", "theirs"]), help="Whose limits, whichever are newer.")
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
            report("nothing was erased")
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
        raise UsageError("erasing asks first, and nobody is there to answer", "", "add --yes")
    question = f"Everything of {printable(name)} goes for good. Type the name to erase"
    return bool(click.prompt(question, default="", show_default=False) == name)
