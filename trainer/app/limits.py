"""Limits tried on the strokes on record: which would have been called; kept for a student; and what was set when."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Callable, Mapping, Sequence

from trainer.app.clock import today
from trainer.app.context import RunContext
from trainer.app.limit_words import in_words
from trainer.app.student_file import Decision, limit_values, set_values, student_key, with_id
from trainer.coaching.faults import STALL_NOTE
from trainer.coaching.what_if import WhatIf, WhatIfRow, WhatIfStroke, differences
from trainer.domain.naming import moment_words
from trainer.domain.printable import printable
from trainer.domain.units import unit_words
from trainer.domain.verdict import FAULT_NAMES, fault_words
from trainer.settings.limits import Limits
from trainer.settings.load import load, read_text
from trainer.store.limit_changes import LimitChange, is_beginning, limit_changes
from trainer.store.limit_lines import flat, in_line, moved
from trainer.store.sessions import stroke_places
from trainer.store.students import StudentFile, Students, check_values, edited
from trainer.store.what_if import strokes_for_what_if
from trainer.texts import join, tr

Replay = Callable[[Sequence[str]], object]


@dataclass(frozen=True, slots=True)
class LimitsRequest:
    """values: dotted key -> value of the limits tried, ``limits.`` in front; last: the newest so many strokes, None: all."""

    student: str
    values: Mapping[str, Any] = field(default_factory=dict)
    last: int | None = 20


@dataclass(frozen=True)
class LimitsTable:
    """strokes: oldest first, judged by the limits tried; saved_rows: the same by the student's own limits."""

    name: str
    saved: Limits
    what_if: WhatIf
    rows: Mapping[str, WhatIfRow]
    saved_rows: Mapping[str, WhatIfRow]
    strokes: tuple[WhatIfStroke, ...]

    @property
    def moved(self) -> bool:
        return bool(differences(self.saved, self.what_if.limits))

    @property
    def note(self) -> str:
        """How the one limit counts that is more than a number to pass."""
        return STALL_NOTE


class LimitsDesk:
    """One student's limits and strokes. Raises UsageError, SettingsError.

    limits: those tried at first; replay: starts `review` with these arguments, in a window of its own.
    """

    def __init__(self, context: RunContext, request: LimitsRequest, replay: Replay) -> None:
        students = Students(context.base)
        self._context, self._replay = context, replay
        self._student = with_id(students, students.find(request.student))
        self.last = request.last
        self.limits = _tried(self._student, request.values)

    @property
    def name(self) -> str:
        """Of the student, as it may be printed."""
        return printable(self._student.name)

    @property
    def saved(self) -> Limits:
        """The student's limits as they were when the desk was opened."""
        return self._student.settings.limits

    def strokes(self, last: int | None) -> Sequence[WhatIfStroke]:
        """The newest so many, oldest first; None: all."""
        key, day = student_key(self._student), today()
        with self._context.open_store_to_read() as store:
            places = stroke_places(store, key)
            found = strokes_for_what_if(store, key, last)
        return [replace(s, name=places[s.stroke_id].name(day), which=places[s.stroke_id].which) for s in found]

    def table(self) -> LimitsTable:
        """What each limit tried would have called."""
        strokes = tuple(self.strokes(self.last))
        records = [stroke.record for stroke in strokes]
        tried, saved = WhatIf(records, self.limits), WhatIf(records, self.saved)
        rows, saved_rows = ({str(name): one.row(name) for name in FAULT_NAMES} for one in (tried, saved))
        return LimitsTable(self.name, self.saved, tried, rows, saved_rows, strokes)

    def save(self, limits: Limits, decision: Decision) -> str:
        """Writes the limits into the student's file, with who, when and why in the record; a line for the coach."""
        student = Students(self._context.base).find(self._student.name)  # it may have been edited meanwhile
        before = student.settings.limits
        names = differences(before, limits)
        if not names:
            return tr("the limits are as they were; nothing to save")
        values: Mapping[str, Any] = limit_values(limits)
        changes = {f"limits.{name}.{key}": value for name in names for key, value in values[name].items()}
        set_values(self._context, student, changes, decision)
        words = []
        for name in names:
            old, new = getattr(before, name), getattr(limits, name)
            if old.value != new.value:
                words.append(
                    tr(
                        "{fault_words} {value:g} to {value2:g} {unit}",
                        fault_words=fault_words(name),
                        value=old.value,
                        value2=new.value,
                        unit=unit_words(new.unit),
                    )
                )
            if old.on != new.on:
                words.append(
                    tr("{fault_words} {words}", fault_words=fault_words(name), words=tr("on") if new.on else tr("off"))
                )
        return tr("saved for {name} by {who}: ", name=printable(student.name), who=decision.who) + join(", ", words)

    def replay(self, stroke_id: int) -> str:
        """Plays a stroke of the record again, by `review` in a window of its own; a line for the coach."""
        context = self._context
        with context.open_store() as store:
            place = stroke_places(store, student_key(self._student)).get(stroke_id)
        if place is None:
            return tr("that stroke is not on record any more")
        folder = ["--data-folder", str(context.base)] if context.folder == context.base else []
        self._replay([*folder, "review", "--student", self._student.name, "--stroke", place.which])
        return tr("review --stroke {which} opens in a window of its own", which=place.which)


def _tried(student: StudentFile, values: Mapping[str, Any]) -> Limits:
    """The student's limits with these values, checked as a settings file is. Raises SettingsError."""
    if not values:
        return student.settings.limits
    check_values(values)
    text = edited(student.path.read_text(encoding="utf-8-sig"), values)
    return load([read_text(text, "the limits on trial")]).limits


@dataclass(frozen=True, slots=True)
class LimitsSet:
    """at: when, in words; what: in words."""

    at: str
    who: str
    why: str
    what: str


def limits_history(context: RunContext, student: str) -> tuple[str, list[LimitsSet]]:
    """(the student's name as it may be printed, every change of the limits, oldest first)."""
    students = Students(context.base)
    person = with_id(students, students.find(student))
    with context.open_store_to_read() as store:
        changes = limit_changes(store, person.card.id)
    day = today()
    out = []
    for change in in_line(changes):
        if not is_beginning(change):
            at = moment_words(datetime.fromisoformat(change.at), day)
            out.append(LimitsSet(at, change.who, change.why, _changed(change)))
    return printable(person.name), out


def _changed(change: LimitChange) -> str:
    if change.before is None:
        return tr("all limits")
    return join(", ", in_words(moved(change), flat(change.before)).values()) or tr("nothing")
