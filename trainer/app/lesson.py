"""A lesson, step by step: each step is kept at once, so that one broken off is taken up where it stood."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from typing import Literal, Sequence

from trainer.app.clock import now, today
from trainer.app.context import RunContext
from trainer.app.drills import list_drills
from trainer.app.homework import HomeworkLine, HomeworkRequest, homework_lines, set_homework
from trainer.app.progress import facts_of
from trainer.app.student_file import files_of, student_key, with_id
from trainer.app.transfer_merge import time_of
from trainer.coaching.lesson.lesson import Lesson, Try
from trainer.coaching.lesson.outcome import Outcome, outcome_of
from trainer.coaching.lesson.priority import Proposal, called, propose
from trainer.coaching.player_profile import ranges_for
from trainer.coaching.posture.address_measures import setup
from trainer.coaching.posture.ranges import Check
from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.reasons.find import card_named
from trainer.domain.naming import for_student
from trainer.domain.verdict import FAULT_NAMES
from trainer.errors import UsageError
from trainer.posture.snapshots import Snapshot, Snapshots
from trainer.store.lessons import keep_lesson, lessons_of, newest_stroke, session_uid
from trainer.store.store import Store
from trainer.store.students import StudentFile, Students
from trainer.texts import shown, tr

NEXT = {
    "before": tr("it begins with `lesson strokes{whose}`"),
    "priority": tr("what it is about: `lesson priority{whose}`, or `lesson priority WHAT{whose}` to overrule"),
    "tries": tr(
        "try changes and note them with `lesson try WHAT{whose}`; then the same strokes again with `lesson strokes{whose}`"
    ),
    "after": tr(
        "the coach's words, homework, the page: `lesson words TEXT{whose}`, `lesson homework DRILL{whose}`, "
        "`lesson page{whose}`; `lesson end{whose}`"
    ),
    "ended": tr("it is over; `lesson page{whose}` writes the page to take home"),
}


@dataclass(frozen=True, slots=True)
class LessonView:
    """A lesson and what follows from its strokes. before, after: ball strokes; homework: what was set in it, if any."""

    student: StudentFile
    lesson: Lesson
    before: tuple[StrokeFacts, ...]
    after: tuple[StrokeFacts, ...]
    proposal: Proposal
    outcome: Outcome
    homework: HomeworkLine | None

    @property
    def about(self) -> str:
        """The priority in words; empty: not decided."""
        return called(self.lesson.priority)

    @property
    def later(self) -> tuple[str, ...]:
        """What waits, in words."""
        return tuple(called(name) for name in self.lesson.later)

    @property
    def next_step(self) -> str:
        step = "after" if self.lesson.after and self.lesson.ended_at is None else self.lesson.step
        return NEXT[step].format(whose=for_student(self.student.name))


def begin_words(student: str) -> str:
    """What to do where there is no lesson."""
    return tr("`lesson begin{whose}` begins one", whose=for_student(student))


class LessonDesk:
    """One student's lessons over an open record. Raises UsageError."""

    def __init__(self, context: RunContext, store: Store, student: str) -> None:
        students = Students(context.base)
        self._context, self._store = context, store
        self.student = with_id(students, students.find(student))

    # ---- what there is

    def listed(self) -> list[tuple[Lesson, str]]:
        """(lesson, what it was about in words), oldest first."""
        return [(one, called(one.priority)) for one in self.all()]

    def all(self) -> list[Lesson]:
        """Oldest first."""
        return lessons_of(self._store, self.student.card.id)

    def open(self) -> Lesson | None:
        """The one under way."""
        return next((one for one in reversed(self.all()) if one.ended_at is None), None)

    def under_way(self) -> Lesson:
        """Raises UsageError where there is none."""
        lesson = self.open()
        if lesson is None:
            raise UsageError(tr("no lesson is under way"), "", begin_words(self.student.name))
        return lesson

    def chosen(self, number: int | None) -> Lesson:
        """By its number from 1, None: the newest one."""
        lessons = self.all()
        if not lessons:
            raise UsageError(tr("no lesson yet"), "", begin_words(self.student.name))
        if number is not None and not 1 <= number <= len(lessons):
            raise UsageError(
                tr("no lesson {number}", number=number), "--number", tr("there are {number}", number=len(lessons))
            )
        return lessons[-1 if number is None else number - 1]

    def view(self, lesson: Lesson) -> LessonView:
        """With its strokes judged by the student's limits of today."""
        facts = [s for s in facts_of(self._store, self.student, as_judged=False) if s.kind == "ball"]
        before, after = (tuple(s for s in facts if s.session in uids) for uids in (lesson.before, lesson.after))
        limits = self.student.settings.limits
        drills = list_drills(self._context.base).drills
        given = homework_lines(self._store, student_key(self.student), drills, today())
        homework = next((line for line in given if line.progress.homework.uid == lesson.homework), None)
        return LessonView(
            self.student,
            lesson,
            before,
            after,
            propose(before, limits, self._posture(lesson)),
            outcome_of(before, after, limits, lesson.priority),
            homework,
        )

    def picture(self, name: str) -> Snapshot | None:
        """A kept posture, if it is here."""
        return next((one for one in self._snapshots().all() if one.name == name), None)

    def _snapshots(self) -> Snapshots:
        return Snapshots(files_of(self._context.base, self.student.card.id))

    def _posture(self, lesson: Lesson) -> Sequence[Check]:
        """Of the address as it was kept on the lesson's day, before anything was tried; none kept: none."""
        day, until = lesson.begun_at.astimezone().date(), lesson.tries[0].at if lesson.tries else now()
        times = [(one, time_of(one.taken_at)) for one in self._snapshots().all()]
        kept = [one for one, at in times if at.astimezone().date() == day and at < until]
        newest = {one.seen.view: one for one in kept}
        ranges = ranges_for(self.student.settings.player, self.student.settings.posture)
        return [c for one in newest.values() for c in setup(one.seen, ranges)]

    # ---- steps

    def begin(self, who: str) -> Lesson:
        """The one under way is taken up; else a new one."""
        at = now()
        return self.open() or self._kept(Lesson(uuid.uuid4().hex, at, at, who))

    def strokes_made(self, session_id: int) -> Lesson:
        """A session of strokes without feedback: as they are, until something was chosen or tried; then the same again."""
        lesson, uid = self.under_way(), session_uid(self._store, session_id)
        if lesson.priority is None and not lesson.tries:
            return self._kept(replace(lesson, before=(*lesson.before, uid)))
        return self._kept(replace(lesson, after=(*lesson.after, uid)))

    def choose(self, what: str | None, why: str) -> Lesson:
        """what: a fault's or a posture measure's name, or words of the coach's; None: as the trainer proposes."""
        lesson = self.under_way()
        if not lesson.before:
            todo = tr("`lesson strokes{whose}` makes some", whose=for_student(self.student.name))
            raise UsageError(tr("no strokes of this lesson yet"), "", todo)
        proposal = self.view(lesson).proposal
        found = [*([proposal.priority] if proposal.priority else []), *proposal.later]
        if what is None:
            if proposal.priority is None:
                todo = tr(
                    "more strokes, or say what it is about: `lesson priority WHAT{whose}`",
                    whose=for_student(self.student.name),
                )
                raise UsageError(tr("nothing was sure enough to begin with"), "", todo)
            name = proposal.priority.name
            why = why or shown(proposal.priority.words)
        else:
            name = _named(what, [one.name for one in found])
            why = why or shown(next((one.words for one in found if one.name == name), ""))
        later = tuple(one.name for one in found if one.name != name)
        by: Literal["trainer", "coach"] = "trainer" if what is None else "coach"
        return self._kept(replace(lesson, priority=name, priority_by=by, why=why, later=later))

    def note_try(self, note: str, stroke: bool, picture: str | None) -> Lesson:
        """stroke: the newest stroke on record was made so; picture: a kept posture, as `posture --list` names it."""
        lesson = self.under_way()
        kept = self._snapshots().find(picture).name if picture is not None else None
        uid = self._newest_stroke() if stroke else None
        tries = (*lesson.tries, Try(uuid.uuid4().hex, now(), note, uid, kept))
        return self._kept(replace(lesson, tries=tries))

    def _newest_stroke(self) -> str:
        facts = facts_of(self._store, self.student, as_judged=True)
        found = newest_stroke(self._store, facts[-1].session) if facts else None
        if found is None:
            todo = tr("make one with `practice{whose}`", whose=for_student(self.student.name))
            raise UsageError(tr("no stroke on record"), "--stroke", todo)
        return found

    def say(self, words: str) -> Lesson:
        """The coach's words to take home."""
        return self._kept(replace(self.under_way(), words=words))

    def give(self, homework: str) -> Lesson:
        """uid of homework set in this lesson."""
        return self._kept(replace(self.under_way(), homework=homework))

    def end(self) -> Lesson:
        return self._kept(replace(self.under_way(), ended_at=now()))

    def _kept(self, lesson: Lesson) -> Lesson:
        kept = replace(lesson, changed_at=now())
        keep_lesson(self._store, self.student.card.id, kept)
        return kept


def give_homework(context: RunContext, request: HomeworkRequest) -> HomeworkLine:
    """Sets it and ties it to the lesson under way. Raises UsageError, SettingsError."""
    with context.open_store() as store:
        LessonDesk(context, store, request.student).under_way()
    line = set_homework(context, request)
    with context.open_store() as store:
        LessonDesk(context, store, request.student).give(line.progress.homework.uid)
    return line


def _named(what: str, found: Sequence[str]) -> str:
    """A fault or a finding however it is written, else the coach's own words."""
    plain = what.strip().casefold()
    names = {name.replace("_", " "): name for name in (*FAULT_NAMES, *found)} | {called(name): name for name in found}
    card = card_named(what)
    if card is not None and card.kind == "fault":
        return card.name
    name = names.get(plain.replace("_", " ").replace("-", " "), what.strip())
    if not name or len(name) > 200:
        raise UsageError(tr("what it is about is a text of 1 to 200 letters"), "", tr("say it in a few words"))
    return name
