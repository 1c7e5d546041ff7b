"""When a card is shown while practising: once by itself, when its fault is first told; on a key; never during a stroke."""

from __future__ import annotations

from datetime import datetime, timezone
from typing import Sequence

from trainer.coaching.reasons.card import Card
from trainer.coaching.reasons.find import card_of_faults
from trainer.domain.record import LiveState
from trainer.store.reasons_shown import cards_shown, note_shown
from trainer.store.store import Store
from trainer.texts import tr

AFTER_RESULT_S = 3.0  # the result stands alone so long
READ_S = 3.0  # a card that stood for less was not read, and comes again


class ReasonCards:
    """student: the id, or the name of one who has none."""

    def __init__(self, store: Store, student: str) -> None:
        self._store, self._student = store, student
        self._known = set(cards_shown(store, student))
        self._told: Card | None = None  # of the newest fault that was told
        self._due: tuple[Card, float | None] | None = None  # to be shown by itself; from when, None: the result waits
        self._shown: tuple[Card, float | None] | None = None  # since when; None: asked for by key

    @property
    def card(self) -> Card | None:
        """What is to be seen now."""
        return self._shown[0] if self._shown is not None else None

    def told(self, faults: Sequence[str]) -> tuple[str, ...]:
        """A result of which the player is told. A line for who has no window, the first time a fault is among them."""
        card = card_of_faults(faults)
        if card is None:
            return ()
        self._told = card
        if card.name in self._known:
            return ()
        self._due = card, None
        return (
            tr(
                "for the first time: {lower}; `reasons {replace}` tells why it costs",
                lower=card.title.lower(),
                replace=card.name.replace("_", "-"),
            ),
        )

    def toggle(self, of_drill: Card | None) -> None:
        """By key: the card of the newest fault that was told, else of the drill; a second time it goes away."""
        if self._shown is not None:
            self._shown = None
            return
        card = self._told or of_drill
        if card is not None:
            self._shown, self._due = (card, None), None

    def any(self, of_drill: Card | None) -> bool:
        """``toggle`` would do something."""
        return self._shown is not None or (self._told or of_drill) is not None

    def see(self, moment: LiveState, result_waits: bool) -> Card | None:
        """With every frame. result_waits: the stroke's result is still held back."""
        now_s, phase = moment.time_s, moment.phase
        if phase.swinging or phase.finishing:
            self._shown = self._due = None
        elif self._shown is not None:
            self._go_on(now_s, leave=phase.eyes_down)
        elif self._due is not None and not result_waits:
            card, since_s = self._due
            if since_s is None:
                self._due = card, now_s
            elif now_s - since_s >= AFTER_RESULT_S and not phase.eyes_down:
                self._shown, self._due = (card, now_s), None
        return self.card

    def _go_on(self, now_s: float, leave: bool) -> None:
        """One that came by itself was read after a while, and goes when the player is at address again."""
        assert self._shown is not None
        card, since_s = self._shown
        if since_s is None:
            return
        if now_s - since_s >= READ_S and card.name not in self._known:
            self._known.add(card.name)
            note_shown(self._store, self._student, card.name, datetime.now(timezone.utc))
        if leave:
            self._shown = None
