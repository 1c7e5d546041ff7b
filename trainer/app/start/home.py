"""What the start window says at once: who, what is due, and who has made how many strokes today."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable

from trainer.app.clock import today
from trainer.app.context import RunContext
from trainer.app.drills import list_drills
from trainer.app.homework import homework_lines
from trainer.app.student_file import student_key
from trainer.coaching.drills import strokes_of
from trainer.coaching.progress.facts import StrokeFacts, sessions_of, without_fault
from trainer.coaching.progress.summary import job_of
from trainer.settings.drill_file import Drill
from trainer.store.history import practised
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students
from trainer.texts import tr, tr_count


@dataclass(frozen=True, slots=True)
class Due:
    """What to practise now. drill: id, None: strokes without a drill; what: its name and dose; why: in a sentence or two."""

    drill: str | None
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Home:
    """student: None: nobody is chosen; lesson: one is under way."""

    student: str | None
    due: Due
    lesson: bool = False


FREE = tr("Practise")
BEGIN = tr("strokes as they come; each is judged and kept")


def home(context: RunContext, student: str | None) -> Home:
    """Raises UsageError: no such student; SettingsError."""
    drills = {drill.drill_id: drill for drill in list_drills(context.base).drills}
    if student is None:
        return Home(None, Due(None, FREE, BEGIN))
    found = Students(context.base).find(student)
    with context.open_store() as store:
        facts = [fact for fact, _ in practised(store, student_key(found), ())]
        return Home(found.name, _due(store, found, facts, drills), _lesson_under_way(store, found))


def _lesson_under_way(store: Store, student: StudentFile) -> bool:
    from trainer.store.lessons import lessons_of

    return bool(student.card.id) and any(one.ended_at is None for one in lessons_of(store, student.card.id))


def _due(store: Store, student: StudentFile, facts: list[StrokeFacts], drills: dict[str, Drill]) -> Due:
    """Homework that asks for something today; the week's drill; the first of the student's own; else just strokes."""
    for line in homework_lines(store, student_key(student), list(drills.values()), today(), open_only=True):
        given = line.progress.homework
        if line.progress.asks and given.drill in drills:
            return Due(
                given.drill,
                tr_count("{name}, {count} stroke", "{name}, {count} strokes", given.strokes, name=line.name),
                tr("Homework: {done}", done=line.done),
            )
    week = job_of(facts)
    own = [name for name in student.card.drills if name in drills]
    chosen = week.drill if week.drill in drills else own[0] if own else None
    if chosen is None:
        return Due(None, FREE, week.sentence if facts else BEGIN)
    head = drills[chosen].head
    why = last_time(facts, chosen) or week.sentence
    return Due(chosen, tr("{name}, {strokes_of} strokes", name=head.name, strokes_of=strokes_of(drills[chosen])), why)


def last_time(facts: Iterable[StrokeFacts], drill: str) -> str:
    """How the drill's last session went; empty where there was none."""
    sessions = sessions_of([one for one in facts if one.drill == drill and one.kind == "ball"])
    if not sessions:
        return ""
    last = sessions[-1].strokes
    judged = [one.drill_good for one in last if one.drill_good is not None]
    if not judged:  # before it was kept how strokes were by the drill's rule
        share = without_fault(last)
        return (
            tr("last time {good} of {total} without fault", good=share.good, total=share.total)
            if share is not None
            else ""
        )
    beside = tr(", {number} not judged", number=len(last) - len(judged)) if len(judged) < len(last) else ""
    return tr("last time {number} of {number2} good{beside}", number=sum(judged), number2=len(judged), beside=beside)


@dataclass(frozen=True, slots=True)
class RoundLine:
    """One student of a round on the green. strokes: with and without a ball, today."""

    name: str
    strokes: int
    due: Due


@dataclass(frozen=True, slots=True)
class Round:
    """faults: a line for each file that cannot be used."""

    lines: tuple[RoundLine, ...]
    faults: tuple[str, ...]


def coach_round(context: RunContext) -> Round:
    """All students by name, with what they have made today."""
    good, bad = Students(context.base).all()
    if not good:
        return Round((), tuple(error.line() for error in bad))
    drills = {drill.drill_id: drill for drill in list_drills(context.base).drills}
    lines, day = [], today()
    with context.open_store() as store:
        for student in good:
            facts = [fact for fact, _ in practised(store, student_key(student), ())]
            made = sum(one.at.date() == day for one in facts)
            lines.append(RoundLine(student.name, made, _due(store, student, facts, drills)))
    return Round(tuple(lines), tuple(error.line() for error in bad))
