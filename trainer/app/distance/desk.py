"""One player's distances in the open record."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import Iterator, Sequence

from trainer.app.context import RunContext
from trainer.coaching.distance.chart import TRAIL_FOOT_CM
from trainer.coaching.distance.checks import FOOT_PLACE, ROLLED, in_range
from trainer.coaching.distance.distance_model import DistanceModel, fit
from trainer.coaching.distance.green_speed import Green
from trainer.domain.naming import NAMELESS, for_student
from trainer.domain.units import Unit, to_m, unit_named
from trainer.errors import UsageError
from trainer.store.distance import DistancePlayer, Distances, KeptPutt, that_count
from trainer.store.history import StudentKey
from trainer.store.store import Store
from trainer.texts import tr


@dataclass(frozen=True)
class Desk:
    """The open record and whose distances are meant."""

    store: Store
    recorded: Distances
    name: str
    student_key: StudentKey

    def player(self) -> DistancePlayer:
        """Raises UsageError while no unit is chosen."""
        found = self.recorded.player(self.name)
        if found is None:
            raise UsageError(
                tr("no unit is chosen yet")
                if self.name == NAMELESS
                else tr("{name} has not chosen metres or feet yet", name=self.name),
                "",
                tr("`putting-trainer distance unit m{whose}` or `... ft`", whose=for_student(self.name)),
            )
        return found

    def green(self) -> Green:
        """Raises UsageError while no green is set."""
        found = self.recorded.green(self.name)
        if found is None:
            raise UsageError(
                tr("no green speed yet"),
                "",
                tr(
                    "`putting-trainer distance green 9.5{whose}`, or measure it (see --help)",
                    whose=for_student(self.name),
                ),
            )
        return found

    def model(self) -> tuple[DistanceModel, list[KeptPutt]]:
        """The player's own law and the putts it rests on: of a stroke's two, the measured one."""
        putts = that_count(self.recorded.putts(self.name))
        return fit([one.putt for one in putts]), putts


@contextmanager
def desk(context: RunContext) -> Iterator[Desk]:
    """Opens the record for one use case."""
    with context.open_store() as store:
        name = context.settings.player.name
        yield Desk(store, Distances(store), name, StudentKey(context.student_id, name))


def rolled_m(values: Sequence[float], unit: Unit) -> list[float]:
    """Roll-outs in the player's unit -> m. Raises UsageError for what cannot be."""
    return [in_range(to_m(value, unit), ROLLED, unit) for value in values]


@dataclass(frozen=True, slots=True)
class ChosenUnit:
    """What a player enters distances in, and where the trail foot stands."""

    name: str
    unit: Unit
    trail_foot_cm: float


def chosen_unit(context: RunContext) -> Unit | None:
    """None: none was chosen yet."""
    with desk(context) as at:
        player = at.recorded.player(at.name)
        return player.unit if player is not None else None


def choose_unit(context: RunContext, unit: str, trail_foot_cm: float | None) -> ChosenUnit:
    """trail_foot_cm: from the ball back to that foot's middle; None: as before."""
    with desk(context) as at:
        before = at.recorded.player(at.name)
        foot_cm = trail_foot_cm if trail_foot_cm is not None else before.trail_foot_cm if before else TRAIL_FOOT_CM
        choice = DistancePlayer(unit_named(unit), in_range(foot_cm, FOOT_PLACE))
        at.recorded.set_player(at.name, choice)
        return ChosenUnit(at.name, choice.unit, choice.trail_foot_cm)
