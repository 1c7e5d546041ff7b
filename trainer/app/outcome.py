"""Where a putt went: noted for a stroke on record, and beside the habit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Sequence

from trainer.app.clock import now, today
from trainer.app.context import RunContext
from trainer.app.student_file import student_key, with_id
from trainer.coaching.outcome import PayRow, pays
from trainer.coaching.progress.facts import StrokeFacts
from trainer.domain.naming import StrokeNumber
from trainer.domain.outcome import WHERE_WORDS, PuttOutcome
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.store.history import StudentKey, practised
from trainer.store.outcomes import note_outcome, outcomes_of
from trainer.store.sessions import stroke_chosen, stroke_places
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.texts import tr


@dataclass(frozen=True, slots=True)
class OutcomeRequest:
    """stroke: of the student's sessions, None: the newest with a ball."""

    student: str
    outcome: PuttOutcome
    stroke: StrokeNumber | None = None


def enter_outcome(context: RunContext, request: OutcomeRequest) -> str:
    """A line that says what was noted. Raises UsageError."""
    students = Students(context.base)
    student = with_id(students, students.find(request.student))
    with context.open_store() as store:
        key = student_key(student)
        balls = [facts for facts, _ in practised(store, key, ()) if facts.kind == "ball"]
        wanted = stroke_chosen(store, key, request.stroke) if request.stroke is not None else None
        chosen = [s for s in balls if request.stroke is None or s.stroke_id == wanted]
        if not chosen:
            which = "" if request.stroke is None else tr(" {stroke}", stroke=request.stroke)
            raise UsageError(
                tr("no ball stroke{which} of {name}", which=which, name=printable(student.name)),
                "--stroke",
                tr("`strokes` lists them"),
            )
        stroke = chosen[-1]
        outcome = with_distance(store, key, stroke.uid, request.outcome)
        note_outcome(store, stroke.uid, outcome, now())
        name = stroke_places(store, key)[stroke.stroke_id].name(today())
    return tr("{name}: {outcome_words}", name=name, outcome_words=outcome_words(outcome))


def with_distance(store: Store, key: StudentKey, stroke: str, outcome: PuttOutcome) -> PuttOutcome:
    """Where no distance is said now, the one that was said before of this stroke stands."""
    before = outcomes_of(store, key).get(stroke)
    if outcome.putt_m is not None or before is None:
        return outcome
    return replace(outcome, putt_m=before[0].putt_m)


def outcome_words(outcome: PuttOutcome) -> str:
    where = WHERE_WORDS[outcome.where]
    return where if outcome.putt_m is None else tr("{where}, {putt_m:g} m", where=where, putt_m=outcome.putt_m)


def payoff(store: Store, key: StudentKey, facts: Sequence[StrokeFacts]) -> tuple[PayRow, ...]:
    """Beside the habit, of those strokes whose ball was seen out. facts: by the limits that are to count."""
    said = outcomes_of(store, key)
    return pays([(one, said[one.uid][0]) for one in facts if one.uid in said])
