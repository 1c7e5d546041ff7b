"""Drills that are set by the player's own strokes on record."""

from __future__ import annotations

from typing import Callable

from trainer.app.context import RunContext
from trainer.app.student_file import student_key
from trainer.coaching.own_rhythm import at_own_rhythm, own_rhythm
from trainer.coaching.progress.facts import StrokeFacts
from trainer.settings.drill_file import Drill
from trainer.store.history import practised
from trainer.store.students import StudentFile

READ = ("tempo_ratio", "backstroke_s")


def fitting(context: RunContext, student: StudentFile | None) -> Callable[[Drill], Drill]:
    """What makes a drill the player's own: the rhythm. The record is read once, and only where a drill asks for it."""
    strokes: list[StrokeFacts] | None = None

    def fitted(drill: Drill) -> Drill:
        nonlocal strokes
        if student is None or not drill.rhythm.own:
            return drill
        if strokes is None:
            with context.open_store() as store:
                strokes = [facts for facts, _ in practised(store, student_key(student), READ)]
        return at_own_rhythm(drill, own_rhythm(strokes, drill.drill_id))

    return fitted
