"""A student's homework, lessons and outcomes of putts for an export file, and such values checked and merged."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field

from trainer.coaching.homework import MOST_DAYS, Homework
from trainer.coaching.lesson.lesson import Lesson, Try
from trainer.domain.outcome import PuttOutcome, Where
from trainer.errors import TransferError
from trainer.settings.keys import STRICT
from trainer.store.history import StudentKey, own_stroke
from trainer.store.homework import homework_of, insert_homework
from trainer.store.lessons import insert_lesson, lessons_of
from trainer.store.outcomes import insert_outcome, outcomes_of
from trainer.store.store import Store, utc
from trainer.store.transfer_file import StudentArchive
from trainer.store.transfer_json import TODO
from trainer.store.transfer_values import FIRST, Real, Text, Time, Uid, checked_document, checked_time
from trainer.texts import tr

PART = "teaching.json"
_LISTS = ("before", "after", "later")
Day = Annotated[str, Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
Name = Annotated[str, Field(max_length=60)]
Words = Annotated[str, Field(max_length=4000)]


class HomeworkValue(BaseModel):
    """One piece of homework."""

    model_config = STRICT
    uid: Uid
    drill: Name
    strokes: Annotated[int, Field(ge=1, le=1000)]
    days_a_week: Annotated[int, Field(ge=1, le=7)]
    from_day: Day
    until: Day
    set_at: Time
    who: Name
    note: Words
    distance_m: Real | None
    dropped_at: Time | None


class TryValue(BaseModel):
    """One change that was tried."""

    model_config = STRICT
    uid: Uid
    at: Time
    note: Words
    stroke: Uid | None
    picture: Name | None


class LessonValue(BaseModel):
    """One lesson."""

    model_config = STRICT
    uid: Uid
    begun_at: Time
    changed_at: Time
    who: Name
    before: Annotated[list[Uid], Field(max_length=50)]
    after: Annotated[list[Uid], Field(max_length=50)]
    priority: Text | None
    priority_by: Literal["", "trainer", "coach"]
    why: Words
    later: Annotated[list[Text], Field(max_length=50)]
    words: Words
    homework: Uid | None
    ended_at: Time | None
    tries: Annotated[list[TryValue], Field(max_length=500)]


class OutcomeValue(BaseModel):
    """Where the ball of one stroke went."""

    model_config = STRICT
    stroke: Uid
    went: Where
    putt_m: Annotated[float, Field(gt=0, le=100)] | None
    at: Time


class TeachingDocument(BaseModel):
    """teaching.json."""

    model_config = STRICT
    homework: Annotated[list[HomeworkValue], FIRST] = []
    lessons: Annotated[list[LessonValue], FIRST] = []
    outcomes: Annotated[list[OutcomeValue], FIRST] = []


def teaching_out(store: Store, key: StudentKey) -> dict[str, Any]:
    """The part's values."""
    student = key.student
    homework = [HomeworkValue(**_plain(one, "from_day", "until")) for one in homework_of(store, student)]
    lessons = [
        LessonValue(
            **{
                **_plain(one),
                **{name: list(getattr(one, name)) for name in _LISTS},
                "tries": [TryValue(**_plain(t)) for t in one.tries],
            }
        )
        for one in lessons_of(store, student)
    ]
    outcomes = [
        OutcomeValue(stroke=uid, went=one.where, putt_m=one.putt_m, at=at)
        for uid, (one, at) in outcomes_of(store, key).items()
    ]
    return TeachingDocument(homework=homework, lessons=lessons, outcomes=outcomes).model_dump()


def _plain(one: Homework | Lesson | Try, *days: str) -> dict[str, Any]:
    """Its fields, moments and days as text."""
    out = {name: getattr(one, name) for name in type(one).__dataclass_fields__}
    out |= {name: utc(value) for name, value in out.items() if isinstance(value, datetime)}
    return out | {name: out[name].isoformat() for name in days}


@dataclass(frozen=True, slots=True)
class ReadyTeaching:
    """Homework and lessons of an export file, checked."""

    homework: tuple[Homework, ...] = ()
    lessons: tuple[Lesson, ...] = ()
    outcomes: tuple[OutcomeValue, ...] = ()


def ready_teaching(archive: StudentArchive) -> ReadyTeaching:
    """Raises TransferError; nothing is written. A file from before there was any holds none."""
    found: TeachingDocument = checked_document(TeachingDocument, archive.json(PART) or {}, PART, archive.name)

    def moment(text: str | None) -> datetime | None:
        return None if text is None else checked_time(text, PART, archive.name)

    def values(one: BaseModel, *times: str) -> dict[str, Any]:
        held = {name: getattr(one, name) for name in type(one).model_fields}
        return held | {name: moment(held[name]) for name in times}

    try:
        homework = tuple(
            Homework(
                **{
                    **values(one, "set_at", "dropped_at"),
                    "from_day": date.fromisoformat(one.from_day),
                    "until": date.fromisoformat(one.until),
                }
            )
            for one in found.homework
        )
        if not all(one.from_day.year >= 1970 and 0 <= (one.until - one.from_day).days <= MOST_DAYS for one in homework):
            raise ValueError
    except ValueError:
        raise TransferError(tr("{part} holds a day that is none", part=PART), archive.name, TODO) from None
    lessons = tuple(
        Lesson(
            **{
                **values(one, "begun_at", "changed_at", "ended_at"),
                **{name: tuple(getattr(one, name)) for name in _LISTS},
                "tries": tuple(Try(**values(t, "at")) for t in one.tries),
            }
        )
        for one in found.lessons
    )
    for said in found.outcomes:
        moment(said.at)
    uids = [one.uid for one in homework] + [one.uid for one in lessons] + [t.uid for one in lessons for t in one.tries]
    if len(set(uids)) != len(uids):
        raise TransferError(tr("{part} holds something twice", part=PART), archive.name, TODO)
    return ReadyTeaching(homework, lessons, tuple(found.outcomes))


def merge_teaching(db: Any, key: StudentKey, what: ReadyTeaching) -> int:
    """Inside a transaction, the strokes being there. What is new is added; of a lesson that both have, and of what was said
    of a stroke's ball, the newer stands; homework that was dropped on one side is dropped. How many were added or changed.
    """
    changed, student = 0, key.student
    for homework in what.homework:
        row = db.execute("SELECT student, dropped_at FROM homework WHERE uid = ?", (homework.uid,)).fetchone()
        _must_be_theirs(row, student)
        if row is None or (row[1] is None and homework.dropped_at is not None):
            insert_homework(db, student, homework)
            changed += 1
    for lesson in what.lessons:
        row = db.execute("SELECT student, changed_at FROM lessons WHERE uid = ?", (lesson.uid,)).fetchone()
        _must_be_theirs(row, student)
        if row is None or datetime.fromisoformat(row[1]) < lesson.changed_at:
            insert_lesson(db, student, lesson)
            changed += 1
    return changed + sum(_merge_outcome(db, key, said) for said in what.outcomes)


def _merge_outcome(db: Any, key: StudentKey, said: OutcomeValue) -> bool:
    """Of a stroke that is not here, or is another student's, nothing is kept."""
    if own_stroke(db, key, said.stroke) is None:
        return False
    at = datetime.fromisoformat(said.at)
    row = db.execute("SELECT at FROM outcomes WHERE stroke = ?", (said.stroke,)).fetchone()
    if row is not None and datetime.fromisoformat(row[0]) >= at:
        return False
    insert_outcome(db, said.stroke, PuttOutcome(said.went, said.putt_m), utc(at))
    return True


def _must_be_theirs(row: Any, student: str) -> None:
    if row is not None and row[0] != student:
        raise TransferError(tr("{part} belongs to another student here", part=PART), "", TODO)
