"""A student's progress, worked out from the record."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date
from typing import Sequence

from trainer.app.clock import today
from trainer.app.context import RunContext
from trainer.app.drills import list_drills
from trainer.app.homework import HomeworkLine, homework_lines
from trainer.app.outcome import payoff
from trainer.app.student_file import limit_values, student_key
from trainer.coaching.distance.guesses import guesses_of
from trainer.coaching.distance.ladder import own_spread, window_share
from trainer.coaching.distance.putt import Putt
from trainer.coaching.lesson.lesson import Lesson
from trainer.coaching.outcome import PayRow
from trainer.coaching.progress.facts import MEASURES_READ, StrokeFacts
from trainer.coaching.progress.praise import praise_of
from trainer.coaching.progress.summary import Progress, progress_of
from trainer.coaching.progress.words import about_the_hold, asked_words, sentences, work_words
from trainer.coaching.verdict import unjudged
from trainer.domain.naming import for_student
from trainer.domain.printable import printable
from trainer.domain.verdict import FAULT_NAMES, FaultName
from trainer.errors import UsageError
from trainer.settings.drill_file import Drill
from trainer.store.distance import Distances, that_count
from trainer.store.history import asked_from, judged_anew, practised
from trainer.store.lessons import lessons_of
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students
from trainer.texts import tr


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

    @property
    def work_words(self) -> str:
        """What the scores are of."""
        return work_words(self.progress)

    @property
    def asked_words(self) -> str:
        """The same, as a good stroke is described."""
        return asked_words(self.progress)

    @property
    def about_the_hold(self) -> bool:
        """The scores are of the hold alone."""
        return about_the_hold(self.progress)


def student_progress(context: RunContext, request: ProgressRequest) -> StudentProgress:
    """Raises UsageError when nothing is on record."""
    student = Students(context.base).find(request.student)
    day = request.day or today()
    with context.open_store_to_read() as store:
        facts = facts_of(store, student, request.as_judged)
        drills = list_drills(context.base).drills
        homework = homework_lines(store, student_key(student), drills, day)
        lessons = lessons_of(store, student.card.id) if student.card.id else []
        told_by = [one.putt for one in that_count(Distances(store).putts(student.name))]
        putts = payoff(store, student_key(student), facts)
    if not facts:
        raise UsageError(
            tr("no strokes of {name} yet", name=printable(student.name)),
            "",
            tr("`practice{whose}` makes some", whose=for_student(student.name)),
        )
    limits = student.settings.limits
    on = [name for name in FAULT_NAMES if limits.limit(name).on]
    work = [name for name in worked_on(homework, lessons, facts, drills) if name in on]
    progress = progress_of(facts, day, on, work)
    earned = (*(praise.words for praise in praise_of(facts)), *(row.sentence for row in putts))
    said = (*earned, *guessed(told_by), *sentences(progress, day))
    return StudentProgress(student, progress, said, day, tuple(homework), tuple(lessons), putts)


def worked_on(
    homework: Sequence[HomeworkLine], lessons: Sequence[Lesson], facts: Sequence[StrokeFacts], drills: Sequence[Drill]
) -> tuple[FaultName, ...]:
    """By the homework that stands, else the last lesson's priority, else the last drill; empty: nothing says so."""
    faults = {drill.drill_id: tuple(drill.rule.faults) for drill in drills}
    for line in homework:
        if line.stands and faults.get(line.progress.homework.drill):
            return faults[line.progress.homework.drill]
    chosen = next((lesson.priority for lesson in reversed(lessons) if lesson.priority), None)
    for name in FAULT_NAMES:
        if name == chosen:
            return (name,)
    last = next((one.drill for one in reversed(facts) if one.kind == "ball" and one.drill), None)
    return faults.get(last, ()) if last is not None else ()


def guessed(putts: Sequence[Putt]) -> tuple[str, ...]:
    """How well the player knew how far his putts ran, before he was told; nothing of fewer than five."""
    found = guesses_of(putts, window_share(own_spread(putts), by_camera=True))
    return (tr("How far it ran, {words}.", words=found.words),) if found is not None else ()


def facts_of(store: Store, student: StudentFile, as_judged: bool) -> list[StrokeFacts]:
    """The student's strokes in local time. Judged by today's limits where others were used, unless ``as_judged``."""
    rows = practised(store, student_key(student), MEASURES_READ)
    values = limit_values(student.settings.limits)
    today = json.dumps(values, sort_keys=True)
    old = [] if as_judged else [facts.stroke_id for facts, limits in rows if limits != today]
    anew = judged_anew(store, student.settings.limits, only=old) if old else {}
    out = []
    for facts, _ in rows:
        if (now_ := anew.get(facts.stroke_id)) is not None:
            faults, asked = tuple(f.name for f in now_.faults), asked_from(facts.view, values)
            facts = replace(facts, faults=faults, too_close=now_.too_close, asked=asked, unsure=unjudged(now_))
        out.append(facts)
    return out
