"""The coach's commands: options only, as in cli.py. The work is in modules imported when a command is called."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

_NAME = click.argument("name")
_WHO = click.option("--by", "who", default="", metavar="WHO", help="Who decided it, for the record.")
_WHY = click.option("--why", default="", metavar="TEXT", help="Why, for the record.")


@click.group()
def students() -> None:
    """Students: their limits, drills and record; handing over; erasing."""


@students.command("list")
@click.pass_obj
def list_students(folder: Path | None) -> int:
    """All students, with how much is on record."""
    from trainer.commands.students import run_list

    return run_list(folder)


@students.command()
@_NAME
@click.pass_obj
def show(folder: Path | None, name: str) -> int:
    """All that is known of one student."""
    from trainer.commands.students import run_show

    return run_show(folder, name)


@students.command()
@_NAME
@click.argument("values", nargs=-1, metavar="[KEY=VALUE]...")
@click.pass_obj
def add(folder: Path | None, name: str, values: tuple[str, ...]) -> int:
    """A new student, for example: students add Robin player.height_cm=172"""
    from trainer.commands.students import run_add

    return run_add(folder, name, values)


@students.command("set")
@_NAME
@click.argument("values", nargs=-1, metavar="KEY=VALUE...")
@_WHO
@_WHY
@click.pass_obj
def set_(folder: Path | None, /, **options: Any) -> int:
    """Change settings, for example: students set Robin limits.hand_stall.limit_deg=10 --why "hands are quiet now"

    An empty value takes a key out. config/defaults.toml lists the keys.
    """
    from trainer.commands.students import run_set

    return run_set(folder, **options)


@students.command()
@_NAME
@click.argument("new_name")
@click.pass_obj
def rename(folder: Path | None, name: str, new_name: str) -> int:
    """Another name; the record goes along."""
    from trainer.commands.students import run_rename

    return run_rename(folder, name, new_name)


@students.command("export")
@_NAME
@click.option("--out", metavar="FILE", type=click.Path(path_type=Path), help="Where to; else a file in this folder.")
@click.option("--strokes", is_flag=True, help="With all strokes.")
@click.pass_obj
def export(folder: Path | None, /, **options: Any) -> int:
    """One hand-over file: profile, drills and, if asked, strokes."""
    from trainer.app.transfer import run_export

    return run_export(folder, **options)


@students.command("import")
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--as", "name", metavar="NAME", help="Under another name, for a student not here yet.")
@click.option("--limits", type=click.Choice(["ours", "theirs"]), help="Whose limits, whichever are newer.")
@click.pass_obj
def import_(folder: Path | None, /, **options: Any) -> int:
    """Take in a hand-over file; what is here already stays."""
    from trainer.app.transfer import run_import

    return run_import(folder, **options)


@students.command()
@_NAME
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.pass_obj
def erase(folder: Path | None, name: str, yes: bool) -> int:
    """Remove everything of a student, and say what."""
    from trainer.commands.students import run_erase

    return run_erase(folder, name, yes)


_OF = click.option("--student", required=True, metavar="NAME", help="Whose.")
_AS_JUDGED = click.option("--as-judged", is_flag=True, help="Verdicts as they were, not by today's limits.")


@click.command()
@_OF
@_AS_JUDGED
@click.pass_obj
def progress(folder: Path | None, student: str, as_judged: bool) -> int:
    """How a student is getting on."""
    from trainer.commands.progress import run_progress

    return run_progress(folder, student, as_judged)


@click.command()
@_OF
@click.option("--out", metavar="FILE.html", type=click.Path(path_type=Path), help="Where to; else in this folder.")
@_AS_JUDGED
@click.pass_obj
def report(folder: Path | None, /, **options: Any) -> int:
    """The same as a page to read, print and pass on."""
    from trainer.commands.progress import run_report

    return run_report(folder, **options)


@click.group()
def drills() -> None:
    """Drills: the bundled ones and your own in drills/ of the data folder."""


@drills.command("list")
@click.pass_obj
def list_drills(folder: Path | None) -> int:
    """All drills."""
    from trainer.commands.drills import run_list

    return run_list(folder)


@drills.command("show")
@click.argument("drill_id", metavar="DRILL")
@click.pass_obj
def show_drill(folder: Path | None, drill_id: str) -> int:
    """One drill in words."""
    from trainer.commands.drills import run_show

    return run_show(folder, drill_id)


@click.command()
@_OF
@click.option("--camera", metavar="C", help="Camera number, device path or stream address.")
@click.option("--clip", metavar="FILE", type=click.Path(path_type=Path), help="A clip in place of the camera.")
@click.option("--last", is_flag=True, help="From strokes on record, without practising now.")
@click.option("--count", type=click.IntRange(5, 50), default=8, show_default=True, help="Strokes it rests on.")
@click.option("--accept", is_flag=True, help="Set the proposed limits.")
@_WHO
@click.option("--no-window", is_flag=True, help="Sound and text only.")
@click.pass_obj
def baseline(folder: Path | None, /, **options: Any) -> int:
    """Limits that fit a student, from strokes without a ball."""
    from trainer.commands.baseline import run_baseline

    options["window"] = not options.pop("no_window")
    return run_baseline(folder, **options)


@click.command()
@_OF
@click.argument("values", nargs=-1, metavar="[LIMIT=VALUE]...")
@click.option("--last", type=click.Choice(["20", "100", "all"]), default="20", show_default=True, help="Strokes shown.")
@click.option("--save", "keep", is_flag=True, help="Keep the limits given (without a window).")
@_WHO
@_WHY
@click.option("--history", is_flag=True, help="Who set which limits, when and why.")
@click.option("--no-window", is_flag=True, help="A table in place of the window.")
@click.pass_obj
def panel(folder: Path | None, /, **options: Any) -> int:
    """Try limits on the strokes on record: which would have been called?

    For example: panel --student Robin hand_stall.limit_deg=10 --no-window
    """
    from trainer.commands.limits import run_panel

    options["window"] = not (options.pop("no_window") or options["keep"])
    return run_panel(folder, **options)


COMMANDS: tuple[click.Command, ...] = (students, drills, baseline, panel, progress, report)
