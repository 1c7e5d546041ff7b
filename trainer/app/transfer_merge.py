"""A student who is here and in an export file: whose profile and limits stand. Decides; writes nothing."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timezone
from typing import Any, Literal, Mapping

from trainer.app.student_file import limit_values
from trainer.posture.snapshot_transfer import ReadySnapshots
from trainer.settings.load import Source
from trainer.settings.model import Card, Settings
from trainer.store.students import StudentFile
from trainer.store.transfer_file import StudentArchive
from trainer.store.transfer_strokes import Ready

LimitsSide = Literal["ours", "theirs"]
NEVER = datetime.min.replace(tzinfo=timezone.utc)


@dataclass(frozen=True, slots=True)
class Incoming:
    """An export file, its strokes still to be checked. text: the student's file as exported, with settings and
    card; drills: id -> content.
    """

    archive: StudentArchive
    text: str
    source: Source
    settings: Settings
    card: Card
    drills: Mapping[str, bytes]
    record: Ready
    snapshots: ReadySnapshots

    @property
    def name(self) -> str:
        return self.settings.player.name


@dataclass(frozen=True, slots=True)
class Here:
    """The student as on this machine. last_limits: those last noted in the record, None: never."""

    student: StudentFile
    last_limits: Mapping[str, Any] | None

    @property
    def limits_edited(self) -> bool:
        """The file's limits were changed by hand since the record noted them."""
        if self.last_limits is None:
            return False
        now = limit_values(self.student.settings.limits)
        return json.dumps(self.last_limits, sort_keys=True) != json.dumps(now, sort_keys=True)


def merged_profile(here: Here, what: Incoming, choice: LimitsSide | None) -> tuple[dict[str, Any], list[str]]:
    """(changes of the file here: dotted key -> value, what is said of them).

    The newer side wins, limits by themselves unless chosen; limits edited by hand here count as newer.
    """
    changes: dict[str, Any] = {}
    notes: list[str] = []
    mine, card = here.student, what.card
    if mine.settings.limits != what.settings.limits:
        newer = time_of(card.limits_at) > time_of(mine.card.limits_at) and not here.limits_edited
        if choice == "theirs" or (choice is None and newer):
            changes |= _limit_changes(what)
            notes.append(f"limits taken over, set {card.limits_at[:16] or 'at an unknown time'}")
        else:
            why = "as asked" if choice is not None else _why_kept(here, what)
            notes.append(f"limits kept as they are here ({why}); --limits theirs takes the others")
    profile = _profile_changes(mine, what)
    if profile and time_of(card.changed_at) > time_of(mine.card.changed_at):
        changes |= profile
        changes["student.changed_at"] = card.changed_at
        notes.append(f"profile taken over: {', '.join(profile)}")
    elif profile:
        notes.append(f"profile kept as it is here: {', '.join(profile)}")
    return changes, notes


def _why_kept(here: Here, what: Incoming) -> str:
    if here.limits_edited:
        return "changed here by hand"
    newer = time_of(here.student.card.limits_at) > time_of(what.card.limits_at)
    return "newer here" if newer else "neither side's are newer"


def _limit_changes(what: Incoming) -> dict[str, Any]:
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


def time_of(text: str) -> datetime:
    """A moment as written in a file; the earliest there is for what is none."""
    try:
        moment = datetime.fromisoformat(text)
        return moment if moment.tzinfo else moment.replace(tzinfo=timezone.utc)
    except ValueError:
        return NEVER
