"""Limits that fit a student, from strokes without a ball: proposed, and set where the coach accepts them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timezone

from trainer.app.context import RunContext
from trainer.app.student_file import Decision, set_values, student_key, with_id
from trainer.coaching.baseline import LONGEST_BACK_CM, STROKES, Proposal, lengths_cm, proposals
from trainer.domain.naming import for_student
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.store.history import rehearsals
from trainer.store.students import StudentFile, Students
from trainer.texts import tr

EVER = datetime.min.replace(tzinfo=timezone.utc)


@dataclass(frozen=True, slots=True)
class BaselineRequest:
    """count: strokes it rests on, the newest; since: strokes made from then on; accept: set what is proposed; who: decides."""

    student: str
    count: int = STROKES
    since: datetime = EVER
    accept: bool = False
    who: str = ""


@dataclass(frozen=True, slots=True)
class Baseline:
    """strokes: how many it rests on; enough: how many there should be; accepted: the limits were set; lengths_cm: shortest
    and longest backstroke among them, None: not seen; up_to_cm: the longest that the limits were tried on."""

    strokes: int
    proposals: tuple[Proposal, ...]
    accepted: bool
    enough: int = STROKES
    lengths_cm: tuple[float, float] | None = None
    up_to_cm: float = LONGEST_BACK_CM

    @property
    def few(self) -> bool:
        return self.strokes < self.enough

    @property
    def changes(self) -> bool:
        return any(proposal.changes for proposal in self.proposals)


def student_with_id(context: RunContext, name: str) -> StudentFile:
    """The student, whose strokes can be told apart on record from now on. Raises UsageError: there is none."""
    students = Students(context.base)
    return with_id(students, students.find(name))


def baseline(context: RunContext, request: BaselineRequest) -> Baseline:
    """From rehearsal strokes on record. Raises UsageError where there are none."""
    student = student_with_id(context, request.student)
    with context.open_store() as store:
        measures = rehearsals(store, student_key(student), request.count, request.since)
    if not measures:
        raise UsageError(
            tr("no rehearsal strokes of {name}, which are strokes without a ball", name=printable(student.name)),
            "",
            tr("make them now: `baseline{whose}`", whose=for_student(student.name)),
        )
    proposed = proposals(measures, student.settings.limits)
    accepted = request.accept and any(p.changes for p in proposed)
    found = Baseline(len(measures), proposed, accepted, lengths_cm=lengths_cm(measures))
    if found.accepted:
        changes = {f"limits.{p.fault}.{p.now.key}": p.value for p in proposed if p.changes}
        set_values(
            context,
            student,
            changes,
            Decision(request.who, tr("baseline of {strokes} rehearsal strokes", strokes=found.strokes)),
        )
    return found
