"""Orders while strokes are watched, by arms or by key: rest and go on, the next drill, the end; and how a stroke felt.

For one thread: ``see`` with every frame, ``order`` between frames.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from typing import Any, Collection

from trainer.coaching.distance.putt import Guess
from trainer.coaching.gestures import ONE_HAND, ORDERS, Gestures, Order, Question
from trainer.domain.observation import Observation
from trainer.domain.outcome import Where
from trainer.domain.phases import Phase
from trainer.domain.record import LiveState
from trainer.live.display_types import GestureView
from trainer.live.keys import ANSWER_KEYS, NEXT_KEY
from trainer.texts import tr

HOLDING: dict[Order, str] = {
    "pause": tr("Pause"),
    "next": tr("Next drill"),
    "quit": tr("End"),
    "guess short": tr("Short"),
    "guess right": tr("Right"),
    "guess long": tr("Long"),
    "good": tr("Felt good"),
    "not good": tr("Felt not good"),
}
STOPPED: Order = "quit"
WENT: dict[Order, Where] = {
    "holed": "holed", "short": "short", "long": "long", "left side": "left", "right side": "right",
}  # fmt: skip
PRACTISING: tuple[Order, ...] = ("next", "homework")  # not obeyed while resting
PATIENT: tuple[Order, ...] = ("pause", "next", "left", "entered", "why", "homework", *WENT)

FELT: tuple[Order, ...] = ("good", "not good")
GUESSED: dict[Order, Guess] = {"guess short": "short", "guess right": "right", "guess long": "long"}


@dataclass(frozen=True, slots=True)
class Obeyed:
    """What the orders of one frame came to. confirmed: a sound is to say so, for their giver stands metres away;
    next_drill: go on to it; felt, guess: what the player said of the last stroke, once it is on record; why: the card is to be
    shown, or to go; homework: it is to begin; went: where the newest ball went.
    """

    ended: bool = False
    confirmed: bool = False
    next_drill: bool = False
    felt: bool | None = None
    guess: Guess | None = None
    why: bool = False
    homework: bool = False
    went: Where | None = None


class GestureControl:
    """feel_wait_s: how long from settle the question stands how it felt, 0: it is not asked; one_hand: the player holds the
    putter with one hand, and orders with one.
    """

    def __init__(self, feel_wait_s: float = 0.0, one_hand: bool = False) -> None:
        self._one_hand = one_hand
        self._wait_s = feel_wait_s
        self._gestures = Gestures(ONE_HAND if one_hand else ORDERS)
        self._orders: deque[Order] = deque()
        self.resting = False  # frames are only looked at for orders; no stroke is followed
        self._away = False
        self._holding: tuple[Order, float] | None = None
        self._asked_s: float | None = None
        self._answer: Order | None = None
        self._question: Question = "feel"
        self._kept = False
        self._told = False

    @property
    def asking(self) -> bool:
        """The answer is waited for, and so is the result."""
        return self._asked_s is not None

    def ask(self, question: Question, wait_s: float) -> None:
        """What the strokes from now on are asked, and for how long; 0: nothing."""
        self._question, self._wait_s = question, wait_s

    def order(self, order: Order) -> None:
        """By key."""
        self._orders.append(order)

    def see(self, observation: Observation, moment: LiveState | None = None, kept: bool = False) -> Obeyed:
        """Every frame. moment: None while resting; kept: a stroke was put on record."""
        if moment is not None:
            self._follow(moment, kept)
        seen = self._gestures.update(
            observation, moment.phase if moment is not None else Phase.AWAY, self._question if self.asking else None
        )
        self._holding = seen.holding
        if seen.event is not None:
            self._orders.append(seen.event)
        busy = moment is not None and moment.phase.under_way
        obeyed = Obeyed()
        for order in self._taken(busy):
            obeyed = self._obey(order, obeyed)
        if self._answer is not None and self._kept and not self._told:
            self._told = True
            obeyed = replace(obeyed, **_answered(self._answer))
        return obeyed

    def view(self, drills: bool = False) -> GestureView:
        """For drawing. drills: there is a next one to order."""
        holding = None
        if self._holding is not None:
            order, share = self._holding
            words = tr("Go on") if order == "pause" and self.resting else HOLDING.get(order, "")
            holding = (words, share) if order != "next" or drills else None
        felt = self._answer == "good" if self._answer in FELT else None
        return GestureView(self._hint(drills), holding, self.asking, felt, self._question)

    def keys(self, offered: Collection[Order]) -> frozenset[str]:
        """Of the orders that have something to act on those that would be obeyed now, with the answers to what is asked."""
        answers = ANSWER_KEYS.commands.values() if self.asking else ()
        return frozenset(order for order in offered if not (self.resting and order in PRACTISING)).union(answers)

    def _hint(self, drills: bool) -> str:
        rest = tr("a hand up") if self._one_hand else tr("lead hand up")
        if self.resting:
            return tr("nobody in the picture") if self._away else tr("{rest}: go on    both hands up: end", rest=rest)
        if self.asking:
            return ""  # the answers stand in the result's place
        ask = NEXT_KEY.label if self._one_hand else tr("trail hand up or {key}", key=NEXT_KEY.label)
        drill = tr("    {ask}: next drill", ask=ask) if drills else ""
        return tr("{rest}: pause{drill}    both hands up: end", rest=rest, drill=drill)

    def _taken(self, busy: bool) -> list[Order]:
        """Those that may be obeyed now. What would break off a stroke under way waits until it is over."""
        waiting = [self._orders.popleft() for _ in range(len(self._orders))]
        later = [order for order in waiting if busy and order in PATIENT]
        self._orders.extend(later)
        return [order for order in waiting if order not in later]

    def _obey(self, order: Order, so_far: Obeyed) -> Obeyed:
        if order == STOPPED:
            return replace(so_far, ended=True)
        if order == "pause":
            self._away, self.resting = False, not self.resting
            return replace(so_far, confirmed=True)
        if order == "left" and not self.resting:
            self._away = self.resting = True
        elif order == "entered" and self._away:
            self._away = self.resting = False
        elif order in PRACTISING and self.resting:
            pass
        elif order == "next":
            return replace(so_far, next_drill=True)
        elif order in WENT:
            return replace(so_far, went=WENT[order])  # confirmed once it is noted: there may be no ball yet
        elif order == "why":
            return replace(so_far, why=True)
        elif order == "homework":
            return replace(so_far, homework=True)
        elif order == "good" and self._question == "guess" and self.asking:  # the key between short and long
            self._asked_s, self._answer = None, "guess right"
        elif order in (FELT if self._question == "feel" else GUESSED) and self.asking:
            self._asked_s, self._answer = None, order
        return so_far

    def _follow(self, moment: LiveState, kept: bool) -> None:
        """Asks from settle on, until the answer, the next stroke, or the end of patience."""
        if "takeaway_s" in moment.new_events:
            self._asked_s, self._answer = None, None
            self._kept = self._told = False
        if "settle_s" in moment.new_events and self._wait_s > 0.0 and self._answer is None:
            self._asked_s = moment.time_s
        self._kept = self._kept or kept
        if self._asked_s is not None and moment.time_s - self._asked_s > self._wait_s:
            self._asked_s = None


def _answered(order: Order) -> dict[str, Any]:
    """As fields of ``Obeyed``."""
    return {"felt": order == "good"} if order in FELT else {"guess": GUESSED[order]}
