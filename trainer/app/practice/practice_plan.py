"""What a run of practice is to be, decided before it begins."""

from __future__ import annotations

from dataclasses import dataclass

from trainer.app.context import RunContext
from trainer.app.practice.drill_sequence import DrillSequence
from trainer.app.practice.drill_session import with_drill
from trainer.domain.record import Kind
from trainer.settings.drill_file import Drill
from trainer.settings.model import Settings


@dataclass(frozen=True)
class PracticePlan:
    """What is practised. context: its settings are those without a drill; source: as it is put on record; drill: to begin
    with; seed: of the drills' orders and schedules; gestures: arms and keys may order; recorded: strokes of this kind only
    are put on record, None: all; strokes: it ends after so many ball strokes and teaches nothing, None: it goes on;
    distance_m: of the putts; before_play: the parts before play, which end by themselves and teach nothing.
    """

    context: RunContext
    source: str
    drills: DrillSequence
    drill: Drill | None = None
    seed: int = 0
    gestures: bool = True
    recorded: Kind | None = None
    strokes: int | None = None
    distance_m: float | None = None
    before_play: bool = False

    @property
    def teaches(self) -> bool:
        """Homework is shown and cards may come."""
        return self.gestures and self.strokes is None and not self.before_play

    @property
    def settings(self) -> Settings:
        """Those of the first drill, where there is one."""
        return (with_drill(self.context, self.drill) if self.drill is not None else self.context).settings
