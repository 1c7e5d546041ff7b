"""Homework: set by the coach, shown with how far it was done, dropped."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Sequence

from trainer.app.clock import now, today
from trainer.app.context import RunContext
from trainer.app.drills import drill_named, list_drills
from trainer.app.student_file import student_key, with_id
from trainer.coaching.drills import strokes_of
from trainer.coaching.homework import MOST_DAYS, Homework, HomeworkProgress, done_words, progress_of, task_words
from trainer.domain.naming import for_student
from trainer.domain.printable import printable
from trainer.domain.record import Kind
from trainer.errors import UsageError
from trainer.settings.drill_file import Drill
from trainer.store.history import StudentKey
from trainer.store.homework import drill_strokes, homework_of, keep_homework
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students
from trainer.texts import tr

USUAL_DAYS = 14


@dataclass(frozen=True, slots=True)
class HomeworkRequest:
    """strokes: None: the drill's own block and silent test; until: None: two weeks from the first day; first: None: today."""

    student: str
    drill: str
    strokes: int | None = None
    days_a_week: int = 4
    until: date | None = None
    first: date | None = None
    distance_m: float | None = None
    who: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class HomeworkLine:
    """One piece of homework: number: from 1, in the order in which it was set; name: of its drill."""

    number: int
    name: str
    progress: HomeworkProgress

    @property
    def task(self) -> str:
        return task_words(self.progress.homework, self.name)

    @property
    def done(self) -> str:
        return done_words(self.progress)

    @property
    def stands(self) -> bool:
        """It is still to be done, or to be begun."""
        return self.progress.state not in ("done", "over", "dropped")


def counted_kind(drill: Drill) -> Kind:
    """The strokes that a drill is made of."""
    return "rehearsal" if drill.block.kind == "rehearsal" else "ball"


def homework_lines(
    store: Store, key: StudentKey, drills: Sequence[Drill], day: date, open_only: bool = False
) -> list[HomeworkLine]:
    """All homework of a student as of that day, oldest first."""
    given = homework_of(store, key.student) if key.student else []
    if not given:
        return []
    made = drill_strokes(store, key)
    known = {drill.drill_id: drill for drill in drills}
    out = []
    for number, homework in enumerate(given, 1):
        drill = known.get(homework.drill)
        progress = progress_of(homework, made, day, counted_kind(drill) if drill is not None else "ball")
        out.append(HomeworkLine(number, drill.head.name if drill is not None else homework.drill, progress))
    return [line for line in out if line.stands] if open_only else out


def set_homework(context: RunContext, request: HomeworkRequest) -> HomeworkLine:
    """Raises UsageError, SettingsError: no such student or drill, or a day that is past."""
    student = _student(context, request.student)
    drill = drill_named(context.base, request.drill)
    day = today()
    first = request.first or day
    until = request.until or first + timedelta(days=USUAL_DAYS - 1)
    if until < first or until < day:
        raise UsageError(
            tr("until {until} is before it begins", until=until),
            "--until",
            tr("give a day from {first} on", first=max(first, day)),
        )
    if (until - first).days >= MOST_DAYS:
        raise UsageError(
            tr("until {until} is more than a year away", until=until), "--until", tr("set it for some weeks")
        )
    homework = Homework(
        uuid.uuid4().hex,
        drill.drill_id,
        request.strokes or strokes_of(drill),
        request.days_a_week,
        first,
        until,
        now(),
        request.who,
        request.note,
        request.distance_m,
    )
    with context.open_store() as store:
        keep_homework(store, student.card.id, homework)
        return homework_lines(store, student_key(student), [drill], day)[-1]


def show_homework(context: RunContext, name: str) -> tuple[str, list[HomeworkLine]]:
    """(the student's name as it may be printed, all that was set)."""
    student = _student(context, name)
    with context.open_store_to_read() as store:
        return printable(student.name), homework_lines(
            store, student_key(student), list_drills(context.base).drills, today()
        )


def drop_homework(context: RunContext, name: str, number: int) -> HomeworkLine:
    """It stands no longer; what was done of it stays on record. Raises UsageError."""
    student = _student(context, name)
    with context.open_store() as store:
        drills = list_drills(context.base).drills
        lines = homework_lines(store, student_key(student), drills, today())
        if not 1 <= number <= len(lines):
            raise UsageError(
                tr("no homework {number}", number=number),
                "",
                tr("`homework show{whose}` numbers them", whose=for_student(student.name)),
            )
        found = lines[number - 1].progress.homework
        if found.dropped_at is None:
            keep_homework(store, student.card.id, replace(found, dropped_at=now()))
        return homework_lines(store, student_key(student), drills, today())[number - 1]


def _student(context: RunContext, name: str) -> StudentFile:
    students = Students(context.base)
    return with_id(students, students.find(name))
