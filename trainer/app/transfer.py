"""`students export` and `students import`: a student's profile, drills and strokes in one file, there and back."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Any, Literal

import tomlkit

from trainer import __version__
from trainer.app.context import RunContext, load_context, report_line
from trainer.commands.students import drill_folders, limit_values, now, student_key, with_id
from trainer.errors import SettingsError, TransferError, UsageError
from trainer.settings.drill_file import Drill, drill_of, known_drills
from trainer.settings.load import Source, load, read_text
from trainer.settings.model import Card, Settings
from trainer.store.history import StudentKey, adopt, limit_changes
from trainer.store.store import utc
from trainer.store.students import StudentFile, Students, file_name, replace_file, shown
from trainer.store.transfer_file import SUFFIX, TODO, StudentArchive, packed, read_archive
from trainer.store.transfer_strokes import Merged, Ready, changes_out, merge, parts_of, ready, sessions_out

Whom = Literal["ours", "theirs"]
# What belongs to the student. Camera, window, sound and folders belong to the machine and are never handed over.
HANDED = ("player", "feedback", "limits", "posture", "student")


def run_export(data_folder: Path | None, name: str, out: Path | None, strokes: bool) -> int:
    """Writes the hand-over file, all or nothing."""
    context = load_context(data_folder)
    students = Students(context.base)
    student = with_id(students, students.find(name))
    text = profile_text(student.path.read_text(encoding="utf-8"))
    parts: dict[str, bytes] = {"student.toml": text.encode()}
    own = known_drills([drill_folders(context.base)[1]])
    for drill in student.card.drills:
        if drill in own:
            drill_of(read_text(own[drill].read_text(encoding="utf-8"), str(own[drill])), drill)
            parts[f"drills/{drill}.toml"] = own[drill].read_bytes()
    with context.open_store() as store:
        adopt(store, student_key(student))
        values: dict[str, Any] = {"limits.json": changes_out(store, student.card.id)}
        count = 0
        if strokes:
            values["sessions.json"], signals = sessions_out(store, student_key(student))
            parts |= signals
            count = len(signals)
    parts |= parts_of(values)
    at = now()
    path = out or Path(file_name(student.name, student.card.id).removesuffix(".toml") + f"-{at:%Y%m%d}{SUFFIX}")
    if path.is_dir():
        raise UsageError("is a folder", str(path), "give the file's name too")
    data = packed(parts, __version__, utc(at), student.card.id, student.name)
    replace_file(path, data)
    drills = sum(part.startswith("drills/") for part in parts)
    report_line(f"wrote {path}: profile, {drills} own drills, {count} strokes, {len(data) / 1e6:.1f} MB")
    return 0


def profile_text(text: str) -> str:
    """A student's file without what belongs to the machine; comments stay."""
    document = tomlkit.parse(text)
    for table in [key for key in document if key not in HANDED]:
        document.remove(table)
    return tomlkit.dumps(document)


@dataclass(frozen=True, slots=True)
class Incoming:
    """A hand-over, checked whole. text: the student's file as handed over, settings and card in it."""

    handover: StudentArchive
    text: str
    source: Source
    settings: Settings
    card: Card
    drills: dict[str, tuple[bytes, Drill]]
    record: Ready

    @property
    def name(self) -> str:
        return self.settings.player.name


def incoming(path: Path) -> Incoming:
    """Reads and checks everything; writes nothing. Raises TransferError."""
    handover = read_archive(path)
    text = handover.text("student.toml") or ""
    try:
        source = read_text(text, f"{handover.name}: student.toml")
        strange = [key for key in source.values if key not in HANDED]
        if strange:
            raise TransferError(f"student.toml sets {shown(strange[0])}, which is not handed over", handover.name, TODO)
        settings = load([source])
        card = Card.model_validate(source.values.get("student", {}))
        if card.id != handover.manifest["student"]:
            raise TransferError("student.toml is another student's", handover.name, TODO)
        if "name" not in source.values.get("player", {}):
            raise TransferError("student.toml has no name", handover.name, TODO)
        drills = {}
        for part, data in handover.parts.items():
            if part.startswith("drills/"):
                drill_id = part[7:-5]
                named = f"{handover.name}: {part}"
                drills[drill_id] = (data, drill_of(read_text(handover.text(part) or "", named), drill_id))
    except SettingsError as error:
        raise TransferError(error.line(), "", TODO) from None
    return Incoming(handover, text, source, settings, card, drills, ready(handover))


def run_import(data_folder: Path | None, path: Path, name: str | None, limits: Whom | None) -> int:
    """Takes in a hand-over: what is new is added, nothing is lost, doing it twice changes nothing."""
    context = load_context(data_folder)
    what = incoming(path)
    students = Students(context.base)
    here = students.by_id(what.card.id)
    notes: list[str] = []
    with context.open_store() as store:  # before any file is written: a record that cannot be used stops it all
        changes = limit_changes(store, what.card.id)
        if here is None:
            student = _new(students, what, name)
            notes.append(f"new student {shown(student.name)}")
        else:
            if name is not None and name != here.name:
                raise UsageError(f"this student is here already as {shown(here.name)}", "--as", "use `students rename`")
            last_limits = changes[-1].limits if changes else None
            student = _merged(students, here, what, last_limits, limits, notes)
        merged = merge(store, StudentKey(what.card.id, student.name), what.record)
    notes += _drills(context, what)
    report_line(f"{shown(student.name)}: {_counted(merged)}")
    for note in notes:
        report_line(note)
    return 0


def _new(students: Students, what: Incoming, name: str | None) -> StudentFile:
    """A file of a student who is not here yet, as it was handed over."""
    from trainer.store.students import checked_text, edited, folded, student_of, write

    wanted = name if name is not None else what.name
    if any(folded(own) == folded(wanted) for own in students.names()):
        raise UsageError(
            f"there is already another student {shown(wanted)}", what.handover.name, "import with --as ANOTHER-NAME"
        )
    text = what.text if name is None else edited(what.text, {"player.name": name})
    path = students.folder / file_name(wanted, what.card.id)
    checked_text(path, text)
    write(path, text)
    return student_of(path)


def _merged(
    students: Students,
    here: StudentFile,
    what: Incoming,
    last_limits: Any,
    choice: Whom | None,
    notes: list[str],
) -> StudentFile:
    """The profile's newer side wins, limits by themselves; limits changed by hand here count as newer. Says what was kept."""
    changes: dict[str, Any] = {}
    ours, theirs = limit_values(here.settings.limits), limit_values(what.settings.limits)
    if ours != theirs:
        by_hand = last_limits is not None and json.dumps(last_limits, sort_keys=True) != json.dumps(
            ours, sort_keys=True
        )
        newer = _time(what.card.limits_at) > _time(here.card.limits_at) and not by_hand
        if choice == "theirs" or (choice is None and newer):
            changes |= _limit_changes_to(what)
            notes.append(f"limits taken over, set {what.card.limits_at[:16] or 'at an unknown time'}")
        else:
            why = _why_kept(here, what, by_hand) if choice is None else "as asked"
            notes.append(f"limits kept as they are here ({why}); --limits theirs takes the others")
    profile = _profile_changes(here, what)
    if profile:
        if _time(what.card.changed_at) > _time(here.card.changed_at):
            changes |= profile
            changes["student.changed_at"] = what.card.changed_at
            notes.append(f"profile taken over: {', '.join(profile)}")
        else:
            notes.append(f"profile kept as it is here: {', '.join(profile)}")
    return students.change(here, changes) if changes else here


def _why_kept(here: StudentFile, what: Incoming, by_hand: bool) -> str:
    if by_hand:
        return "changed here by hand"
    newer = _time(here.card.limits_at) > _time(what.card.limits_at)
    return "newer here" if newer else "neither side's are newer"


def _limit_changes_to(what: Incoming) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for fault, table in limit_values(what.settings.limits).items():
        given = what.source.values.get("limits", {}).get(fault, {})
        out |= {f"limits.{fault}.{key}": value if key in given else None for key, value in table.items()}
    card = what.card
    return out | {
        "student.limits_at": card.limits_at,
        "student.limits_by": card.limits_by,
        "student.limits_why": card.limits_why,
    }


def _profile_changes(here: StudentFile, what: Incoming) -> dict[str, Any]:
    """Key -> their value, where it differs; the name stays as it is here."""
    out: dict[str, Any] = {}
    for table in ("player", "feedback"):
        mine, new = getattr(here.settings, table).model_dump(), getattr(what.settings, table).model_dump()
        out |= {f"{table}.{k}": v for k, v in new.items() if mine[k] != v and k != "name"}
    mine, new = here.settings.values()["posture"], what.settings.values()["posture"]
    out |= {
        f"posture.{view}.{name}.{end}": value
        for view, table in new.items()
        for name, ends in table.items()
        for end, value in ends.items()
        if mine[view][name][end] != value
    }
    for key in ("drills", "notes"):
        if getattr(here.card, key) != getattr(what.card, key):
            out[f"student.{key}"] = getattr(what.card, key)
    return out


def _time(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
        return moment if moment.tzinfo else moment.replace(tzinfo=timezone.utc)
    except ValueError:
        return datetime.min.replace(tzinfo=timezone.utc)


def _drills(context: RunContext, what: Incoming) -> list[str]:
    """Own drills are put in; one that is here already with other content stays as it is here."""
    notes = []
    folder = drill_folders(context.base)[1]
    for drill_id, (data, _) in what.drills.items():
        path = folder / f"{drill_id}.toml"
        if not path.exists():
            replace_file(path, data)
            notes.append(f"new drill {drill_id}")
        elif path.read_bytes() != data:
            notes.append(f"drill {drill_id} differs and was kept as it is here")
    return notes


def _counted(merged: Merged) -> str:
    if not merged.new_strokes and not merged.known_strokes:
        return "no strokes in the file"
    return (
        f"{merged.new_strokes} new strokes in {merged.new_sessions} new sessions, {merged.known_strokes} known already"
    )
