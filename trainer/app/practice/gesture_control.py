"""Orders while strokes are watched, by arms or by key: rest and go on, the next drill, the end; and how a stroke felt.

``see`` is called by the loop's worker with every frame; ``order`` from any thread.
"""

from __future__ import annotations

import threading
from collections import deque
from dataclasses import dataclass
from typing import Callable

from trainer.coaching.gestures import Gestures, Order
from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.domain.record import LiveState

HOLDING: dict[Order, str] = {
    "pause": "Pause",
    "next": "Next drill",
    "quit": "End",
    "good": "Felt good",
    "not good": "Felt not good",
}
QUESTION = "How did it feel?"
ANSWERS = "lead hand up: good    trail hand up: not good    (or arrow keys)"
STOPPED: Order = "quit"
PATIENT: tuple[Order, ...] = ("pause", "next", "left", "entered")


@dataclass(frozen=True, slots=True)
class GestureView:
    """What is drawn of it. hint: what may be ordered now; holding: the order whose position is held, and its share of the
    time; asks: the player is asked how it felt; felt: the answer to the last stroke.
    """

    hint: str = ""
    holding: tuple[str, float] | None = None
    asks: bool = False
    felt: bool | None = None


class GestureControl:
    """on_next: goes on to the next drill, False where there is none; on_felt: told after the stroke is on record.

    feel_wait_s: how long from settle the question stands, 0: it is not asked; drills: whether there is a next one to order.
    """

    def __init__(
        self,
        on_next: Callable[[], bool] = lambda: False,
        on_felt: Callable[[bool], None] = lambda good: None,
        feel_wait_s: float = 0.0,
        drills: Callable[[], bool] = lambda: False,
    ) -> None:
        self._on_next, self._on_felt = on_next, on_felt
        self._wait_s, self._drills = feel_wait_s, drills
        self._gestures = Gestures()
        self._orders: deque[Order] = deque()
        self._resting = threading.Event()
        self._away = False
        self._holding: tuple[Order, float] | None = None
        self._asked_s: float | None = None
        self._answer: bool | None = None
        self._kept = False
        self._told = False
        self.obeyed: Order | None = None  # by the last ``see``, of those that a sound confirms

    @property
    def resting(self) -> bool:
        """Frames are only looked at for orders; no stroke is followed."""
        return self._resting.is_set()

    @property
    def asking(self) -> bool:
        """The answer is waited for, and so is the result."""
        return self._asked_s is not None

    def order(self, order: Order) -> None:
        """By key."""
        self._orders.append(order)

    def see(self, observation: Observation, moment: LiveState | None = None, kept: bool = False) -> bool:
        """Every frame. moment: None while resting; kept: a stroke was put on record. False: it is to end."""
        self.obeyed = None
        if moment is not None:
            self._follow(moment, kept)
        seen = self._gestures.update(observation, moment.phase if moment is not None else Phase.AWAY, self.asking)
        self._holding = seen.holding
        if seen.event is not None:
            self._orders.append(seen.event)
        busy = moment is not None and moment.phase.under_way
        going = [self._obey(order) for order in self._taken(busy)]
        return all(going)

    def view(self) -> GestureView:
        """For drawing."""
        holding = None
        if self._holding is not None:
            order, share = self._holding
            words = "Go on" if order == "pause" and self.resting else HOLDING.get(order, "")
            holding = (words, share) if order != "next" or self._drills() else None
        return GestureView(self._hint(), holding, self.asking, self._answer)

    def _hint(self) -> str:
        if self.resting:
            return "nobody in the picture" if self._away else "both arms out: go on    both hands up: end"
        if self.asking:
            return ""  # the answers stand in the result's place
        drill = "    trail hand up or N: next drill" if self._drills() else ""
        return f"both arms out: pause{drill}    both hands up: end"

    def _taken(self, busy: bool) -> list[Order]:
        """Those that may be obeyed now. What would break off a stroke under way waits until it is over."""
        waiting = [self._orders.popleft() for _ in range(len(self._orders))]
        later = [order for order in waiting if busy and order in PATIENT]
        self._orders.extend(later)
        return [order for order in waiting if order not in later]

    def _obey(self, order: Order) -> bool:
        if order == "pause":
            self.obeyed = order
            self._away = False
            (self._resting.clear if self.resting else self._resting.set)()
        elif order == "left" and not self.resting:
            self._away = True
            self._resting.set()
        elif order == "entered" and self._away:
            self._away = False
            self._resting.clear()
        elif order == "next" and not self.resting and self._on_next():
            self.obeyed = order
        elif order in ("good", "not good") and self.asking:
            self._asked_s, self._answer = None, order == "good"
            self._tell()
        return order != STOPPED

    def _follow(self, moment: LiveState, kept: bool) -> None:
        """Asks from settle on, until the answer, the next stroke, or the end of patience."""
        if "takeaway_s" in moment.new_events:
            self._asked_s, self._answer = None, None
            self._kept = self._told = False
        if "settle_s" in moment.new_events and self._wait_s > 0.0 and self._answer is None:
            self._asked_s = moment.time_s
        if kept:
            self._kept = True
            self._tell()
        if self._asked_s is not None and moment.time_s - self._asked_s > self._wait_s:
            self._asked_s = None

    def _tell(self) -> None:
        """Once, and not before the stroke is on record."""
        if self._answer is not None and self._kept and not self._told:
            self._told = True
            self._on_felt(self._answer)
