"""What a task costs the habit: its strokes beside silent ones without a task, and the longest run to beat."""

from __future__ import annotations

from typing import Iterable

from trainer.coaching.drill_words import lost_line
from trainer.coaching.drills import Run, longest_run
from trainer.coaching.progress.facts import sessions_of, without_fault
from trainer.coaching.progress.proportions import proportion_of
from trainer.settings.drill_file import Drill
from trainer.store.history import StudentKey, practised
from trainer.store.store import Store
from trainer.texts import tr

LATEST = 40  # silent strokes without a task that it is compared with


def task_lines(store: Store, key: StudentKey, run: Run, others: Iterable[Drill] = ()) -> list[str]:
    """Lines to say when it is over. All its strokes are on record. others: drills; those that disturb are no comparison."""
    drill, names = run.drill, tuple(run.drill.rule.faults)
    disturbing = {one.drill_id for one in (drill, *others) if one.transfer.asked}
    facts = [one for one, _ in practised(store, key, ()) if one.kind == "ball"]
    silent = [one for one in facts if one.told is False and one.drill not in disturbing]
    judged = [mark.good for mark in run.marks if mark.good is not None]
    lines = [lost_line(proportion_of(sum(judged), len(judged)), without_fault(silent[-LATEST:], names))]
    if drill.transfer.streak:
        sessions = sessions_of([one for one in facts if one.drill == drill.drill_id])
        best = max((longest_run(one.drill_good for one in session.strokes) for session in sessions), default=0)
        now = longest_run(mark.good for mark in run.marks)
        lines.append(
            tr("in a row: {now} this time, {best} at best", now=now, best=best)
            + ("" if now < best else tr(", which is to be beaten now"))
        )
    return lines
