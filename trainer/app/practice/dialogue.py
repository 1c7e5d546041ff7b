"""What the player orders and is told beside results: orders by arms and keys, homework, cards, proposed pauses."""

from __future__ import annotations

from trainer.app.practice.gesture_control import WENT, GestureControl, Obeyed
from trainer.app.practice.pauses import Announces, Pauses
from trainer.app.practice.practice_plan import PracticePlan
from trainer.app.practice.teaching import Teaching
from trainer.coaching.gestures import Order, Question
from trainer.coaching.player_profile import one_hand
from trainer.domain.observation import Observation
from trainer.domain.record import LiveState
from trainer.feedback.signs import Sign
from trainer.live.display_types import GestureView
from trainer.live.pipeline import Finished
from trainer.live.practice_state import DisplayState
from trainer.settings.drill_file import Drill
from trainer.store.history import StudentKey
from trainer.store.store import Store


class Dialogue:
    """Without a player who could take part, as when a clip is played to be seen: nothing is ordered, proposed or taught."""

    opening: tuple[str, ...] = ()  # lines to say before it starts
    sign: Sign | None = None  # shown until the first stroke

    @property
    def resting(self) -> bool:
        """Frames are only looked at for orders."""
        return False

    @property
    def due(self) -> Drill | None:
        """The homework's drill that its key begins."""
        return None

    def order(self, order: Order) -> None:
        """By key."""

    def ask(self, question: Question, wait_s: float) -> None:
        """What the strokes from now on are asked, and for how long; 0: nothing."""

    def see(self, observation: Observation, moment: LiveState | None = None, kept: bool = False) -> Obeyed:
        """Every frame. moment: None while resting; kept: a stroke was put on record."""
        return Obeyed()

    def view(self, drills: bool) -> GestureView | None:
        """For drawing. drills: there is a next one to order."""
        return None

    def keys(self, drill: Drill | None, drills: bool, balls: bool) -> frozenset[str]:
        """Orders whose keys do something now. drill: under way; drills: there is a next one; balls: the newest stroke on record
        was with a ball.
        """
        return frozenset()

    def follow(self, moment: LiveState, signs: Announces, sign: Sign | None) -> tuple[str, ...]:
        """Proposes a pause when it is time. sign: what is shown. Lines to say."""
        return ()

    def kept(self, drill_id: str | None, finished: Finished, told: bool) -> tuple[str, ...]:
        """A stroke is on record. told: the player is told how it was. Lines to say."""
        return ()

    def went(self, obeyed: Obeyed, session: int | None, putt_m: float | None) -> tuple[bool, tuple[str, ...]]:
        """Where the newest ball of this session of the record went, if it was said; putt_m: how far that putt was. Whether it
        was noted, and lines to say.
        """
        return False, ()

    def shown(
        self, state: DisplayState, obeyed: Obeyed, moment: LiveState | None, waits: bool, drill: Drill | None
    ) -> DisplayState:
        """With the card that is to be seen. moment: None while resting; waits: the result is held back; drill: under way."""
        return state

    def distance_m(self, drill_id: str | None) -> float | None:
        """Of the putts that the homework in this drill asks for."""
        return None

    def praise(self) -> tuple[str, ...]:
        """What went better in this session than before, in lines."""
        return ()


class PlayerDialogue(Dialogue):
    """With the player of this plan."""

    def __init__(self, plan: PracticePlan, store: Store) -> None:
        player, feedback = plan.context.settings.player, plan.context.settings.feedback
        wait_s = feedback.feel_wait_s if feedback.feel else 0.0
        self._gestures = GestureControl(wait_s, one_hand(player))
        key = StudentKey(plan.context.student_id, player.name)
        self._teaching = Teaching(store, key, plan.drills.drills, not plan.teaches)
        self._pauses = Pauses()
        if plan.recorded is None:
            self.opening = self._teaching.opening
            self.sign = self._teaching.sign if plan.drill is None else None

    @property
    def resting(self) -> bool:
        return self._gestures.resting

    @property
    def due(self) -> Drill | None:
        return self._teaching.due

    def order(self, order: Order) -> None:
        self._gestures.order(order)

    def ask(self, question: Question, wait_s: float) -> None:
        self._gestures.ask(question, wait_s)

    def see(self, observation: Observation, moment: LiveState | None = None, kept: bool = False) -> Obeyed:
        if moment is None:
            self._pauses.rested()
        return self._gestures.see(observation, moment, kept)

    def view(self, drills: bool) -> GestureView:
        return self._gestures.view(drills)

    def keys(self, drill: Drill | None, drills: bool, balls: bool) -> frozenset[str]:
        offered = set(self._teaching.offered(drill))
        if drills:
            offered.add("next")
        if balls:
            offered.update(WENT)
        return self._gestures.keys(offered)

    def follow(self, moment: LiveState, signs: Announces, sign: Sign | None) -> tuple[str, ...]:
        return self._pauses.follow(moment, signs, sign)

    def kept(self, drill_id: str | None, finished: Finished, told: bool) -> tuple[str, ...]:
        self._pauses.kept()
        return self._teaching.kept(drill_id, finished, told)

    def went(self, obeyed: Obeyed, session: int | None, putt_m: float | None) -> tuple[bool, tuple[str, ...]]:
        return self._teaching.went(obeyed.went, session, putt_m) if obeyed.went is not None else (False, ())

    def shown(
        self, state: DisplayState, obeyed: Obeyed, moment: LiveState | None, waits: bool, drill: Drill | None
    ) -> DisplayState:
        self._teaching.obey(obeyed, drill)
        return self._teaching.shown(state, moment, waits)

    def distance_m(self, drill_id: str | None) -> float | None:
        return self._teaching.distance_m(drill_id)

    def praise(self) -> tuple[str, ...]:
        return self._teaching.praise()
