"""The drills that a run of practice may go on to, and which one is under way: both cameras' sessions go by it."""

from __future__ import annotations

from typing import Callable, Mapping, Sequence

from trainer.app.context import RunContext
from trainer.app.drills import list_drills
from trainer.app.practice.drill_session import sounds_of
from trainer.feedback.tones import Samples
from trainer.settings.drill_file import Drill


class DrillSequence:
    """drills: id -> drill; listed: ids of the student's own, in order; others are left out."""

    def __init__(self, drills: Mapping[str, Drill], listed: Sequence[str] = ()) -> None:
        self._drills = dict(drills)
        self._listed = [drill_id for drill_id in listed if drill_id in self._drills]

    @property
    def by_id(self) -> Mapping[str, Drill]:
        """Id -> drill."""
        return self._drills

    @property
    def drills(self) -> tuple[Drill, ...]:
        """All of them."""
        return tuple(self._drills.values())

    def sounds(self, also: Drill | None = None) -> dict[str, Samples]:
        """Those that only drills need, of every drill that may come."""
        out: dict[str, Samples] = {}
        for drill in [*self._drills.values(), also]:
            out.update(sounds_of(drill))
        return out

    def after(self, drill: Drill | None) -> Drill | None:
        """The one to go on to: the student's own next one, or the one that the drill itself names; None: there is none."""
        if drill is None:
            return self._drills[self._listed[0]] if self._listed else None
        if drill.drill_id in self._listed:
            then = self._listed.index(drill.drill_id) + 1
            if then < len(self._listed):
                return self._drills[self._listed[then]]
        return self._drills.get(drill.head.next)


def drill_sequence(
    context: RunContext, listed: Sequence[str] = (), fitted: Callable[[Drill], Drill] = lambda drill: drill
) -> DrillSequence:
    """Of all drills that can be used, each fitted to the player; what is wrong with the others `drills list` says."""
    return DrillSequence({drill.drill_id: fitted(drill) for drill in list_drills(context.base).drills}, listed)
