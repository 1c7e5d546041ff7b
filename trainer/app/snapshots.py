"""A student's kept postures: listed, one made the reference, two compared."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Sequence

from trainer.app.context import RunContext
from trainer.app.student_file import Decision, files_of, set_values, with_id
from trainer.coaching.player_profile import ranges_for
from trainer.coaching.posture.address_measures import setup
from trainer.coaching.posture.compare import Change, changes
from trainer.coaching.posture.reference import ranges_around
from trainer.domain.naming import moment_words, view_words
from trainer.domain.observation import View
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.posture.guidance import ComparedPosture, change_cells
from trainer.posture.snapshots import Snapshot, Snapshots
from trainer.store.students import Students
from trainer.texts import tr

VIEWS: tuple[View, ...] = ("face-on", "down-the-line")


@dataclass(frozen=True)
class SnapshotList:
    """folder: where they are; snapshots: the earliest first; references: names of those that are a view's reference."""

    folder: Path
    snapshots: tuple[Snapshot, ...]
    references: frozenset[str]


@dataclass(frozen=True)
class NewReference:
    """ranges_set: how many ranges were set around it."""

    name: str
    view: View
    ranges_set: int


@dataclass(frozen=True)
class SnapshotComparison:
    """changes: one a measure."""

    before: ComparedPosture
    after: ComparedPosture
    changes: Sequence[Change]

    @property
    def rows(self) -> list[tuple[str, ...]]:
        """Measure, before, after, change, the least change that can be told, what that means."""
        return [change_cells(change) for change in self.changes]


def snapshots_of(context: RunContext, student: str | None) -> Snapshots:
    """Raises UsageError without a student."""
    if student is None:
        raise UsageError(tr("kept postures belong to a student"), "--student", tr("say whose: --student NAME"))
    students = Students(context.base)
    person = with_id(students, students.find(student))
    return Snapshots(files_of(context.base, person.card.id))


def list_snapshots(context: RunContext, student: str | None) -> SnapshotList:
    snapshots = snapshots_of(context, student)
    references = {found.name for view in VIEWS if (found := snapshots.reference(view)) is not None}
    return SnapshotList(snapshots.folder, tuple(snapshots.all()), frozenset(references))


def set_reference(context: RunContext, student: str | None, which: str, ranges: bool) -> NewReference:
    """Of the snapshot's view. ranges: the student's ranges become those around it."""
    snapshots = snapshots_of(context, student)
    chosen = snapshots.find(which)
    snapshots.set_reference(chosen)
    around: dict[str, Any] = {}
    if ranges and student is not None:
        around = ranges_around(chosen.measures, chosen.seen.view)
        set_values(context, Students(context.base).find(student), around, Decision())
    return NewReference(chosen.name, chosen.seen.view, len(around) // 2)


def compare_snapshots(context: RunContext, student: str | None, which: tuple[str, str]) -> SnapshotComparison:
    """Before and after, of the same view."""
    snapshots = snapshots_of(context, student)
    before = _one_of(snapshots, which[0], None)
    after = _one_of(snapshots, which[1], before.seen.view)
    if before.seen.view != after.seen.view:
        raise UsageError(
            tr(
                "one is {view}, the other {view2}", view=view_words(before.seen.view), view2=view_words(after.seen.view)
            ),
            "--compare",
            tr("compare the same view"),
        )
    if before.name == after.name:
        raise UsageError(tr("that is the same posture twice"), "--compare", tr("give two: --list shows the names"))
    ranges = ranges_for(context.settings.player, context.settings.posture)
    sides = [ComparedPosture(_title(one), one.image(), one.seen, setup(one.seen, ranges)) for one in (before, after)]
    table = changes(before.measures, after.measures, before.seen.view, ranges)
    return SnapshotComparison(sides[0], sides[1], table)


def _one_of(snapshots: Snapshots, which: str, view: str | None) -> Snapshot:
    """First and last are those of the other one's view."""
    return snapshots.find(which, view if which in ("first", "last", "reference") else None)


def _title(snapshot: Snapshot) -> str:
    return snapshot.label or taken_words(snapshot)


def taken_words(snapshot: Snapshot) -> str:
    """When it was taken; as it stands in the file where that is no moment."""
    try:
        return moment_words(datetime.fromisoformat(snapshot.taken_at))
    except ValueError:
        return printable(snapshot.taken_at)
