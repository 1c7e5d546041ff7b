"""Which card answers a question: by a fault's name, a drill's id, or for a drill that has no card of its own."""

from __future__ import annotations

from typing import Mapping, Sequence

from trainer.coaching.reasons.card import Card
from trainer.coaching.reasons.fault_cards import FAULT_CARDS
from trainer.coaching.reasons.length_drill_cards import CARDS as LENGTH_CARDS
from trainer.coaching.reasons.stroke_drill_cards import CARDS as STROKE_CARDS
from trainer.coaching.reasons.transfer_drill_cards import CARDS as TRANSFER_CARDS
from trainer.domain.verdict import fault_named
from trainer.settings.drill_file import Drill
from trainer.settings.drill_names import present_id

DRILL_CARDS: Mapping[str, Card] = {card.name: card for card in (*STROKE_CARDS, *LENGTH_CARDS, *TRANSFER_CARDS)}
ALL_CARDS: tuple[Card, ...] = (*FAULT_CARDS.values(), *DRILL_CARDS.values())


def card_named(name: str) -> Card | None:
    """By a fault's key or shown name, with - or _ or blanks, or a drill's id, old ones too."""
    fault = fault_named(name)
    if fault is not None:
        return FAULT_CARDS[fault]
    return DRILL_CARDS.get(present_id("-".join(name.casefold().replace("_", " ").replace("-", " ").split())))


def card_of_drill(drill: Drill) -> Card | None:
    """Its own; of a coach's own drill that of the first fault that it is about; None: it is about none."""
    own = DRILL_CARDS.get(drill.drill_id)
    if own is not None:
        return own
    return FAULT_CARDS[drill.rule.faults[0]] if drill.rule.faults else None


def card_of_faults(faults: Sequence[str]) -> Card | None:
    """Of the first of these faults."""
    return card_named(faults[0]) if faults else None
