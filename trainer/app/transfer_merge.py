"""A student who is here and in an export file: whose profile and limits stand. Decides; writes nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timezone
from typing import Any, Literal, Mapping

from trainer.app.limit_words import in_words
from trainer.app.student_file import Decision, limit_change, limit_values
from trainer.domain.printable import printable
from trainer.domain.verdict import fault_words
from trainer.posture.snapshot_transfer import ReadySnapshots
from trainer.settings.load import Source
from trainer.settings.model import Card, Settings
from trainer.store.limit_changes import LimitChange
from trainer.store.limit_lines import Moved, as_recorded, flat, in_line, merged, moved, nested, newest, united
from trainer.store.students import StudentFile
from trainer.store.transfer_file import StudentArchive
from trainer.store.transfer_strokes import Ready
from trainer.texts import join, tr

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

    @property
    def ids(self) -> tuple[str, ...]:
        """All that the student goes by, that of the file's own computer first."""
        return (self.card.id, *self.archive.manifest.get("other_ids", ()))

    @property
    def side(self) -> OtherSide:
        return OtherSide(self.settings, self.card, self.record.changes, tr("; --limits theirs takes the others"))


@dataclass(frozen=True, slots=True)
class OtherSide:
    """The same student elsewhere. changes: of the limits; hint: how its limits are taken after all."""

    settings: Settings
    card: Card
    changes: tuple[LimitChange, ...]
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Here:
    """The student as on this machine. changes: of the limits, as in the record; now: when the file is taken in."""

    student: StudentFile
    changes: tuple[LimitChange, ...]
    now: datetime


def merged_profile(
    here: Here, what: OtherSide, choice: LimitsSide | None
) -> tuple[dict[str, Any], LimitChange | None, list[str]]:
    """(changes of the file here: dotted key -> value, what is decided of the limits by the choice, what is said of them).

    The newer side wins; each limit goes by its own newest change, unless a side is chosen.
    """
    changes, decided, notes = _merged_limits(here, what, choice)
    mine, card = here.student, what.card
    profile = _profile_changes(mine, what)
    if profile and time_of(card.changed_at) > time_of(mine.card.changed_at):
        changes |= profile
        changes["student.changed_at"] = card.changed_at
        notes.append(tr("profile taken over: {listed}", listed=", ".join(profile)))
    elif profile:
        notes.append(tr("profile kept as it is here: {listed}", listed=", ".join(profile)))
    return changes, decided, notes


def _merged_limits(
    here: Here, what: OtherSide, choice: LimitsSide | None
) -> tuple[dict[str, Any], LimitChange | None, list[str]]:
    """What the choice decides against the newest change is one itself, made now."""
    ours, theirs = (flat(limit_values(side.settings.limits)) for side in (here.student, what))
    both = united(here.changes, what.changes)
    last = newest(both)
    by_date = merged(here.changes, what.changes, ours)
    known = as_recorded(here.changes, ours)
    if choice is None:
        wanted = {key: by_date[key] if ours[key] == known[key] else ours[key] for key in ours}
        whys = _whys(ours, known, theirs, as_recorded(what.changes, theirs), last)
        decided, setters = None, last
    else:
        wanted = theirs if choice == "theirs" else ours
        whys = {key: tr("as asked") for key in ours}
        decided, setters = _decided(here, choice, wanted, by_date), newest(in_line(what.changes))
    moves = {key: value for key, value in wanted.items() if value != ours[key]}
    changes = {f"limits.{key}": value for key, value in moves.items()}
    if moves:
        last_set = decided or max((one for one in both if moved(one)), key=lambda one: (one.at, one.uid))
        changes["student.limits_at"], changes["student.limits_by"] = last_set.at, last_set.who
        changes["student.limits_why"] = last_set.why
    notes = []
    for key, words in in_words(moves, ours).items():
        who = setters[key].who if key in setters else ""
        by = tr(", set by {who}", who=printable(who)) if who else ""
        notes.append(tr("limit taken over: {what}{by}", what=words, by=by))
    return changes, decided, notes + _kept_lines(wanted, theirs, whys, what.hint)


def _decided(here: Here, choice: str, wanted: Mapping[str, Any], by_date: Mapping[str, Any]) -> LimitChange | None:
    if wanted == by_date:
        return None
    decision = Decision("", f"import --limits {choice}")
    return limit_change(here.student.card.id, here.now, decision, nested(wanted), nested(by_date))


def _whys(
    ours: Mapping[str, Any],
    known: Mapping[str, Any],
    theirs: Mapping[str, Any],
    known_there: Mapping[str, Any],
    last: Mapping[str, Moved],
) -> dict[str, str]:
    """Dotted key -> why it stays as it is here, if it does."""
    out = {}
    for key in ours:
        if ours[key] != known[key]:
            out[key] = tr("changed here by hand")
        elif theirs[key] != known_there[key]:
            out[key] = tr("changed there by hand, at an unknown time")
        else:
            out[key] = tr("newer here") if key in last else tr("neither side's are newer")
    return out


def _kept_lines(wanted: Mapping[str, Any], theirs: Mapping[str, Any], whys: Mapping[str, str], hint: str) -> list[str]:
    """A line for each reason, with the limits that stay."""
    stay: dict[str, dict[str, str]] = {}
    for key, value in wanted.items():
        if value != theirs[key]:
            fault = key.partition(".")[0]
            stay.setdefault(whys[key], {})[fault] = fault_words(fault)
    pattern = tr("limits kept as they are here ({why}): {listed}{hint}")
    return [pattern.format(why=why, listed=join(", ", names.values()), hint=hint) for why, names in stay.items()]


def _profile_changes(here: StudentFile, what: OtherSide) -> dict[str, Any]:
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
