"""How a lesson stands, in lines."""

from __future__ import annotations

from typing import Iterator

from trainer.app.lesson import LessonView
from trainer.domain.naming import moment_words
from trainer.domain.printable import printable


def lesson_lines(found: LessonView) -> Iterator[str]:
    """How a lesson stands, and what comes next."""
    one = found.lesson
    with_whom = f" with {printable(one.who)}" if one.who else ""
    yield f"lesson of {moment_words(one.begun_at)} for {printable(found.student.name)}{with_whom}"
    yield f"strokes without feedback: {len(found.before)} before, {len(found.after)} after"
    if one.priority is None and found.before:
        first = found.proposal.priority
        yield f"proposed: {first.words}" if first is not None else "proposed: nothing; no fault was sure"
        for finding in found.proposal.later:
            yield f"later: {finding.reason}"
    elif one.priority is not None:
        chosen = "chosen by the coach" if one.priority_by == "coach" else "as proposed"
        yield f"about: {found.about} ({chosen}{f': {one.why}' if one.why else ''})"
        if one.later:
            yield f"later: {'; '.join(found.later)}"
    for number, tried in enumerate(one.tries, 1):
        yield f"tried {number}: {tried.note}"
    if found.after:
        yield found.outcome.sentence
    if found.homework is not None:
        yield f"homework: {found.homework.task}; {found.homework.done}"
    yield f"next: {found.next_step}"
