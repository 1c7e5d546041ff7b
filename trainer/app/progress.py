"""A student's progress, worked out from the record."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date

from trainer.app.clock import today
from trainer.app.context import RunContext
from trainer.app.drills import list_drills
from trainer.app.homework import HomeworkLine, homework_lines
from trainer.app.outcome import payoff
from trainer.app.student_file import limit_values, student_key
from trainer.coaching.lesson.lesson import Lesson
from trainer.coaching.outcome import PayRow
from trainer.coaching.progress.facts import MEASURES_READ, StrokeFacts
from trainer.coaching.progress.praise import praise_of
from trainer.coaching.progress.summary import Progress, progress_of
from trainer.coaching.progress.words import sentences
from trainer.domain.printable import printable
from trainer.domain.verdict import FAULT_NAMES
from trainer.errors import UsageError
from trainer.store.history import judged_anew, practised
from trainer.store.lessons import lessons_of
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students


@dataclass(frozen=True, slots=True)
class ProgressRequest:
    """as_judged: verdicts as they were, not by today's limits; day: today, None: by the clock."""

    student: str
    as_judged: bool = False
    day: date | None = None


@dataclass(frozen=True, slots=True)
class StudentProgress:
    """day: the one it was worked out for; sentences: what the numbers say, praise first; homework, lessons: oldest first;
    putts: holed with the hold and without it, by distance.
    """

    student: StudentFile
    progress: Progress
    sentences: tuple[str, ...]
    day: date
    homework: tuple[HomeworkLine, ...] = ()
    lessons: tuple[Lesson, ...] = ()
    putts: tuple[PayRow, ...] = ()


def student_progress(context: RunContext, request: ProgressRequest) -> StudentProgress:
    """Raises UsageError when nothing is on record."""
    student = Students(context.base).find(request.student)
    day = request.day or today()
    with context.open_store() as store:
        facts = facts_of(store, student, request.as_judged)
        homework = homework_lines(store, student_key(student), list_drills(context.base).drills, day)
        lessons = lessons_of(store, student.card.id) if student.card.id else []
        putts = payoff(store, student_key(student), facts)
    if not facts:
        raise UsageError(f"no strokes of {printable(student.name)} yet", "", "`practice --student NAME` makes some")
    limits = student.settings.limits
    progress = progress_of(facts, day, [name for name in FAULT_NAMES if limits.limit(name).on])
    said = (*(praise.words for praise in praise_of(facts)), *(row.sentence for row in putts), *sentences(progress, day))
    return StudentProgress(student, progress, said, day, tuple(homework), tuple(lessons), putts)


def facts_of(store: Store, student: StudentFile, as_judged: bool) -> list[StrokeFacts]:
    """The student's strokes in local time. Judged by today's limits where others were used, unless ``as_judged``."""
    rows = practised(store, student_key(student), MEASURES_READ)
    today = json.dumps(limit_values(student.settings.limits), sort_keys=True)
    old = [] if as_judged else [facts.stroke_id for facts, limits in rows if limits != today]
    anew = judged_anew(store, student.settings.limits, only=old) if old else {}
    out = []
    for facts, _ in rows:
        here = replace(facts, at=facts.at.astimezone())
        if (now_ := anew.get(facts.stroke_id)) is not None:
            here = replace(here, faults=tuple(f.name for f in now_.faults), too_close=now_.too_close)
        out.append(here)
    return out
