"""`students`: list, show, add, change, rename and erase. Handing over is in handing_over.py."""

from __future__ import annotations

import sys
import uuid
from dataclasses import fields
from datetime import datetime, timezone
from pathlib import Path
from typing import Any, Mapping, Sequence

from rich import box
from rich.markup import escape
from rich.table import Table

from trainer.app.context import RunContext, load_context, report_line, warn
from trainer.commands.strokes import console
from trainer.errors import UsageError
from trainer.resources import data_path
from trainer.settings.drill_file import known_drills
from trainer.settings.limits import Limits
from trainer.store.folder import tree_size
from trainer.store.history import (
    Counts,
    StudentKey,
    adopt,
    counts,
    counts_by_student,
    erase,
    limit_changes,
    note_limits,
    rename_player,
)
from trainer.store.store import utc
from trainer.store.students import StudentFile, Students, shown
from trainer.store.video import folder_of, forget, videos_of

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib


def now() -> datetime:
    """The clock of this floor."""
    return datetime.now(timezone.utc)


def files_of(base: Path, student_id: str) -> Path:
    """Folder of a student's pictures and videos."""
    return folder_of(base, student_id)


def student_key(student: StudentFile) -> StudentKey:
    return StudentKey(student.card.id, student.name)


def drill_folders(base: Path) -> tuple[Path, Path]:
    """Bundled drills, then the coach's own."""
    return data_path("config", "drills"), base / "drills"


def with_id(students: Students, student: StudentFile) -> StudentFile:
    """The same student with an id, made now if the file was written by hand."""
    return student if student.card.id else students.change(student, {"student.id": uuid.uuid4().hex})


def run_list(data_folder: Path | None) -> int:
    """A table; files that cannot be used are told on stderr, the others still shown. Exit code 2 then."""
    context = load_context(data_folder)
    good, bad = Students(context.base).all()
    out = console()
    if not good and not bad:
        out.print(f"no students yet in {context.base}; `students add NAME` makes one", soft_wrap=True, markup=False)
        return 0
    with context.open_store() as store:
        kept = counts_by_student(store)
    table = Table(box=box.SIMPLE_HEAD)
    for heading in ("name", "putts", "height\ncm", "sessions", "strokes", "last", "drills"):
        table.add_column(heading, overflow="fold")
    for student in good:
        count = _sum(kept, student)
        player = student.settings.player
        table.add_row(
            escape(shown(student.name)),
            f"{player.handedness}-handed",
            f"{player.height_cm:g}" if player.height_cm else "-",
            str(count.sessions),
            str(count.strokes),
            count.last_at[:10] if count.last_at else "-",
            escape(", ".join(student.card.drills) or "-"),
        )
    out.print(table)
    for error in bad:
        warn(error.line())
    return 2 if bad else 0


def _sum(kept: Mapping[tuple[str | None, str], Counts], student: StudentFile) -> Counts:
    own = [c for (i, name), c in kept.items() if (i == student.card.id if i else name == student.name)]
    last = max((c.last_at for c in own if c.last_at), default=None)
    return Counts(sum(c.sessions for c in own), sum(c.strokes for c in own), last)


def run_show(data_folder: Path | None, name: str) -> int:
    """All that is known of one student, limits with unit and range, and what is kept."""
    context = load_context(data_folder)
    student = Students(context.base).find(name)
    out = console()
    player, card, camera = student.settings.player, student.card, student.settings.camera
    with context.open_store() as store:
        count, changes = counts(store, student_key(student)), limit_changes(store, card.id)
        videos = videos_of(store, context.base, student_key(student))
    facts = [
        ("name", shown(student.name)),
        ("putts", f"{player.handedness}-handed"),
        ("height", f"{player.height_cm:g} cm" if player.height_cm else "not known"),
        ("camera", f"{camera.source}, {camera.view}, {camera.width}x{camera.height} at {camera.fps:g}/s"),
        ("feedback", student.settings.feedback.schedule),
        ("drills", ", ".join(card.drills) or "none"),
        ("notes", card.notes or "none"),
        ("file", str(student.path)),
        ("record", f"{count.strokes} strokes in {count.sessions} sessions"),
        ("video", _video(context.base, card.id, videos)),
    ]
    if changes:
        last = changes[-1]
        why = f": {last.why}" if last.why else ""
        facts.append(("limits set", f"{last.at[:16].replace('T', ' ')} UTC by {last.who or 'unknown'}{why}"))
    grid = Table.grid(padding=(0, 2))
    for key, value in facts:
        grid.add_row(key, escape(value))
    out.print(grid)
    table = Table(box=box.SIMPLE_HEAD)
    for heading in ("limit", "on", "value", "unit", "range", "what"):
        table.add_column(heading, justify="right" if heading == "value" else "left", no_wrap=heading != "what")
    for f in fields(Limits):
        limit = getattr(student.settings.limits, f.name)
        table.add_row(
            f.name,
            "on" if limit.on else "off",
            f"{limit.value:g}",
            limit.unit,
            f"{limit.low:g} to {limit.high:g}",
            limit.note,
        )
    out.print(table)
    return 0


def _video(base: Path, student_id: str, videos: Sequence[Path]) -> str:
    """videos: of the strokes, wherever they are; other files of the student's folder count too."""
    files, size = _kept_files(base, student_id, videos)
    of_strokes = f", {len(videos)} of them strokes" if videos else ""
    return f"{files} files{of_strokes}, {size / 1e6:.1f} MB in {files_of(base, student_id)}" if files else "none kept"


def _kept_files(base: Path, student_id: str, videos: Sequence[Path]) -> tuple[int, int]:
    """(files, bytes) of the student's folder and of videos elsewhere."""
    own = files_of(base, student_id)
    files, size = tree_size(own) if student_id else (0, 0)
    outside = [path for path in videos if not (student_id and path.is_relative_to(own))]
    return files + len(outside), size + sum(path.stat().st_size for path in outside)


def run_add(data_folder: Path | None, name: str, values: Sequence[str]) -> int:
    """A new student. values: KEY=VALUE, as for `students set`."""
    context = load_context(data_folder)
    changes = parsed(values)
    _known(context, changes)
    student = Students(context.base).add(name, uuid.uuid4().hex, {**changes, "student.changed_at": utc(now())})
    with context.open_store() as store:
        taken = adopt(store, student_key(student))
    report_line(
        f"added {shown(student.name)}: {student.path}"
        + (f"; {taken} earlier sessions of that name are theirs" if taken else "")
    )
    return 0


def run_set(data_folder: Path | None, name: str, values: Sequence[str], who: str, why: str) -> int:
    """Other values; comments and order of the file stay. A change of the limits is kept with who, when and why."""
    context = load_context(data_folder)
    students = Students(context.base)
    student = with_id(students, students.find(name))
    changes = parsed(values)
    if not changes:
        raise UsageError("nothing to set", "", "give KEY=VALUE, for example limits.sway.limit_cm=2.5")
    if "player.name" in changes:
        raise UsageError("a name is not set", "player.name", "use `students rename`")
    if "student.id" in changes:
        raise UsageError("an id is never changed", "student.id", "leave it")
    _known(context, changes)
    set_values(context, students, student, changes, who, why)
    report_line(f"changed {shown(student.name)}: {', '.join(changes)}")
    return 0


def set_values(
    context: RunContext, students: Students, student: StudentFile, changes: Mapping[str, Any], who: str, why: str
) -> StudentFile:
    """Writes the values, and notes who set the limits, when and why, if they are among them."""
    at = now()
    limits = any(key.startswith("limits.") for key in changes)
    stamps: dict[str, Any] = {"student.changed_at": utc(at)}
    if limits:
        stamps |= {"student.limits_at": utc(at), "student.limits_by": who, "student.limits_why": why}
    with context.open_store() as store:  # opened first: a record that cannot be written stops the change as well
        before = student.settings.limits
        changed = students.change(student, {**changes, **stamps})
        if limits:
            if not limit_changes(store, student.card.id):
                note_limits(
                    store, student.card.id, datetime.fromtimestamp(0, timezone.utc), "", "before", limit_values(before)
                )
            note_limits(store, student.card.id, at, who, why, limit_values(changed.settings.limits))
    return changed


def limit_values(limits: Limits) -> dict[str, Any]:
    """As a settings file has them."""
    from trainer.settings.model import limit_key

    table = {f.name: getattr(limits, f.name) for f in fields(Limits)}
    return {name: {"on": limit.on, limit_key(limit): limit.value} for name, limit in table.items()}


def parsed(values: Sequence[str]) -> dict[str, Any]:
    """KEY=VALUE: a TOML value, or a text as it stands; empty: the key is taken out, so that the default holds again."""
    out: dict[str, Any] = {}
    for text in values:
        key, mark, value = text.partition("=")
        key, value = key.strip(), value.strip()
        parts = key.split(".")
        if not mark or len(parts) < 2 or not all(p.replace("_", "").isalnum() and p.isascii() for p in parts):
            raise UsageError(f"{shown(text)} is no KEY=VALUE", "", "for example limits.sway.limit_cm=2.5")
        if not value:
            out[key] = None
            continue
        try:
            out[key] = tomllib.loads(f"v = {value}")["v"]
        except (ValueError, RecursionError):
            out[key] = value
        if isinstance(out[key], dict):
            raise UsageError(f"{shown(text)}: one value a key", "", "set each key by itself")
    return out


def _known(context: RunContext, changes: Mapping[str, Any]) -> None:
    """Drills must be there."""
    import difflib

    wanted = changes.get("student.drills")
    known = known_drills(drill_folders(context.base))
    for drill in wanted if isinstance(wanted, list) else []:
        if isinstance(drill, str) and drill not in known:
            near = difflib.get_close_matches(drill, known, n=1)
            todo = f"did you mean {near[0]}?" if near else f"known: {', '.join(known)}"
            raise UsageError(f"no drill {shown(drill)}", "student.drills", todo)


def run_rename(data_folder: Path | None, name: str, new_name: str) -> int:
    """The record goes along: it hangs on the id."""
    context = load_context(data_folder)
    students = Students(context.base)
    student = with_id(students, students.find(name))
    with context.open_store() as store:
        adopt(store, student_key(student))
        renamed = students.rename(student, new_name, {"student.changed_at": utc(now())})
        rename_player(store, student_key(student), renamed.name)
    report_line(f"{shown(student.name)} is now {shown(renamed.name)}")
    return 0


def run_erase(data_folder: Path | None, name: str, yes: bool) -> int:
    """Everything of a student goes: file, pictures, videos, strokes. Says what. Asks first, unless yes."""
    import shutil

    from trainer.errors import SettingsError, StoreError

    context = load_context(data_folder)
    students = Students(context.base)
    path = students.find_path(name)
    try:
        student = students.find(name)
        who = student_key(student)
    except SettingsError:  # a file that cannot be read any more must still go
        raw = {own: p for own, p in students.names().items() if p == path}
        who = StudentKey(_raw_id(path), next(iter(raw)))
    if not yes:
        if not sys.stdin.isatty():
            raise UsageError("erasing asks first, and nobody is there to answer", "", "add --yes")
        import click

        question = f"Everything of {shown(who.player)} goes for good. Type the name to erase"
        typed = click.prompt(question, default="", show_default=False)
        if typed != who.player:
            report_line("nothing was erased")
            return 0
    own_files = files_of(context.base, who.student) if who.student else None
    with context.open_store() as store:
        videos = videos_of(store, context.base, who)  # asked for first: the record knows whose they are
        files, size = _kept_files(context.base, who.student, videos)
        forget(videos)
        gone = erase(store, who)
    try:
        if own_files is not None and own_files.is_dir():
            shutil.rmtree(own_files)
        path.unlink()
    except OSError as error:
        raise StoreError(f"cannot be deleted ({error.strerror})", str(path), "allow that and erase once more") from None
    report_line(
        f"erased {shown(who.player)}: {gone.strokes} strokes in {gone.sessions} sessions, {gone.settings} kept settings,"
        f" {gone.limit_changes} changes of limits, {gone.distances} distance entries, {files} pictures and videos"
        f" ({len(videos)} of strokes, {size / 1e6:.1f} MB), the file {path.name}"
    )
    report_line("reports and hand-over files that you saved elsewhere are still where you put them")
    return 0


def _raw_id(path: Path) -> str:
    """The id in a file that has other faults."""
    try:
        card = tomllib.loads(path.read_text(encoding="utf-8")).get("student", {})
    except (OSError, ValueError):
        return ""
    found = card.get("id", "") if isinstance(card, dict) else ""
    return found if isinstance(found, str) and len(found) == 32 and all(c in "0123456789abcdef" for c in found) else ""
