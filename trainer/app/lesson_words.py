"""How a lesson stands, in lines."""

from __future__ import annotations

from typing import Iterator

from trainer.app.lesson import LessonView
from trainer.domain.naming import moment_words
from trainer.domain.printable import printable
from trainer.texts import join, tr


def lesson_lines(found: LessonView) -> Iterator[str]:
    """How a lesson stands, and what comes next."""
    one = found.lesson
    with_whom = tr(" with {who}", who=printable(one.who)) if one.who else ""
    yield tr(
        "lesson of {moment_words} for {name}{with_whom}",
        moment_words=moment_words(one.begun_at),
        name=printable(found.student.name),
        with_whom=with_whom,
    )
    yield tr(
        "strokes without feedback: {number} before, {number2} after", number=len(found.before), number2=len(found.after)
    )
    if one.priority is None and found.before:
        first = found.proposal.priority
        yield (
            tr("proposed: {words}", words=first.words)
            if first is not None
            else tr("proposed: nothing; no fault was sure")
        )
        for finding in found.proposal.later:
            yield tr("later: {reason}", reason=finding.reason)
    elif one.priority is not None:
        chosen = tr("chosen by the coach") if one.priority_by == "coach" else tr("as proposed")
        yield tr(
            "about: {about} ({chosen}{words})",
            about=found.about,
            chosen=chosen,
            words=tr(": {why}", why=one.why) if one.why else "",
        )
        if one.later:
            yield tr("later: {listed}", listed=join("; ", found.later))
    for number, tried in enumerate(one.tries, 1):
        yield tr("tried {number}: {note}", number=number, note=tried.note)
    if found.after:
        yield found.outcome.sentence
    if found.homework is not None:
        yield tr("homework: {task}; {done}", task=found.homework.task, done=found.homework.done)
    yield tr("next: {next_step}", next_step=found.next_step)
