"""What teaches while strokes are watched: homework shown, begun and ticked off; cards that say why."""

from __future__ import annotations

from dataclasses import replace
from typing import Sequence

from trainer.app.clock import now, today
from trainer.app.homework import HomeworkLine, homework_lines
from trainer.app.outcome import outcome_words
from trainer.app.practice.gesture_control import Obeyed
from trainer.app.practice.reason_cards import ReasonCards
from trainer.coaching.gestures import Order
from trainer.coaching.homework import task_words
from trainer.coaching.progress.facts import MEASURES_READ
from trainer.coaching.progress.praise import praise_of
from trainer.coaching.reasons.card import Card
from trainer.coaching.reasons.find import card_of_drill
from trainer.domain.outcome import PuttOutcome, Where
from trainer.domain.record import LiveState
from trainer.feedback.signs import Sign
from trainer.live.keys import HOMEWORK_KEY
from trainer.live.pipeline import Finished
from trainer.live.practice_state import DisplayState
from trainer.settings.drill_file import Drill
from trainer.store.history import StudentKey, practised
from trainer.store.outcomes import newest_ball_stroke, note_outcome
from trainer.store.store import Store
from trainer.texts import tr


class Teaching:
    """key: of the student; drills: those that there are; quiet: it is only noted where balls went."""

    def __init__(self, store: Store, key: StudentKey, drills: Sequence[Drill], quiet: bool = False) -> None:
        self._quiet = quiet
        self._store, self._key, self._drills = store, key, {drill.drill_id: drill for drill in drills}
        self._cards = ReasonCards(store, key.student or key.player)
        self._lines: list[HomeworkLine] = []
        self._read()

    def _read(self) -> None:
        if not self._quiet:
            drills = list(self._drills.values())
            self._lines = homework_lines(self._store, self._key, drills, today(), open_only=True)

    # ---- homework

    @property
    def opening(self) -> tuple[str, ...]:
        """Lines to say before it starts."""
        return tuple(
            tr("homework: {task}; {done}", task=line.task, done=line.done)
            + (tr("; {key} begins it", key=HOMEWORK_KEY.label) if line.progress.asks else "")
            for line in self._lines
        )

    @property
    def sign(self) -> Sign | None:
        """Shown until the first stroke."""
        line = self._asking()
        if line is None:
            return None
        return Sign(
            tr("Homework: {name}", name=line.name),
            tr("{done}    {key} begins it, or just putt", done=line.done, key=HOMEWORK_KEY.label),
            "plain",
        )

    @property
    def due(self) -> Drill | None:
        """The drill that is to begin when its key is pressed."""
        line = self._asking()
        return self._drills.get(line.progress.homework.drill) if line is not None else None

    def _asking(self) -> HomeworkLine | None:
        """What is overdue first, then in the order set."""
        asking = [line for line in self._lines if line.progress.asks and line.progress.homework.drill in self._drills]
        return min(asking, key=lambda line: line.progress.state != "overdue", default=None)

    def kept(self, drill_id: str | None, finished: Finished, told: bool) -> tuple[str, ...]:
        """A stroke is on record. told: the player is told how it was. Lines to say."""
        lines = self._ticked(drill_id)
        if told and not self._quiet:
            lines += self._cards.told([fault.name for fault in finished.verdict.faults])
        return lines

    def _ticked(self, drill_id: str | None) -> tuple[str, ...]:
        """What this stroke finished of the homework."""
        if not any(line.progress.homework.drill == drill_id for line in self._lines):
            return ()
        before = {line.progress.homework.uid: line for line in self._lines}
        self._read()
        now = {line.progress.homework.uid: line for line in self._lines}
        out = []
        for uid, line in before.items():
            if not line.progress.asks or (uid in now and now[uid].progress.asks):
                continue
            said = now[uid].done if uid in now else tr("all of it is done")
            out.append(
                tr(
                    "homework done for today: {task_words}; {said}",
                    task_words=task_words(line.progress.homework, line.name),
                    said=said,
                )
            )
        return tuple(out)

    def praise(self) -> tuple[str, ...]:
        """What went better in this session than before, if anything did."""
        if self._quiet:
            return ()
        facts = [stroke for stroke, _ in practised(self._store, self._key, MEASURES_READ)]
        return tuple(praise.words for praise in praise_of(facts))

    # ---- where the ball went

    def went(self, where: Where, session: int | None, putt_m: float | None) -> tuple[bool, tuple[str, ...]]:
        """By key, of the newest stroke of this session; said again it is changed. putt_m: how far the putt was, if known.
        Whether it was noted, and lines to say.
        """
        stroke = newest_ball_stroke(self._store, session) if session is not None else None
        if stroke is None:
            return False, (tr("no ball stroke yet whose ball could have gone anywhere"),)
        outcome = PuttOutcome(where, putt_m)
        note_outcome(self._store, stroke, outcome, now())
        return True, (tr("the ball: {outcome_words}", outcome_words=outcome_words(outcome)),)

    def distance_m(self, drill_id: str | None) -> float | None:
        """Of the putts that the homework in this drill asks for."""
        asked = [line.progress.homework for line in self._lines if line.progress.homework.drill == drill_id]
        return next((one.distance_m for one in asked if one.distance_m is not None), None)

    # ---- keys

    def offered(self, drill: Drill | None) -> frozenset[Order]:
        """Orders that have something to act on. drill: under way."""
        out: set[Order] = set()
        if self.due is not None:
            out.add("homework")
        if not self._quiet and self._cards.any(_card_of(drill)):
            out.add("why")
        return frozenset(out)

    # ---- cards

    def obey(self, obeyed: Obeyed, drill: Drill | None) -> None:
        """The key that asks why."""
        if obeyed.why and not self._quiet:
            self._cards.toggle(_card_of(drill))

    def shown(self, state: DisplayState, moment: LiveState | None, result_waits: bool) -> DisplayState:
        """With the card that is to be seen, if any. moment: None while resting."""
        card = self._cards.see(moment, result_waits) if moment is not None else self._cards.card
        return replace(state, card=card) if card is not state.card else state


def _card_of(drill: Drill | None) -> Card | None:
    return card_of_drill(drill) if drill is not None else None
