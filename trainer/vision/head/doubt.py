"""Confidence in a turn that is told: less, the more it hangs on what is supposed of the head (STUDY.md, "Confidence").

What does not change with the head's supposed shape, with where its outline is put and with which side is seen is right; what is
known of the head at rest sets the most that there can be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from trainer.vision.head.fusion import Found, Turn
from trainer.vision.head.witness import Seen


@dataclass(frozen=True, slots=True)
class DoubtOptions:
    """Set by the study in STUDY.md ("Confidence"). What makes one unit of doubt, each by itself; together by their squares:

    shapes: the hypotheses of the head's shape differ by this share of the turn, from the least to the most; outlines: the two
    outlines do; over: the witness' answer changes by it when the pictures are turned over; error_deg: error expected; misfit:
    residual relative to rest. A turn counts as least_turn_deg at least. unheard: units for a second outline that has lost the
    head that turns. half, power: the confidence is a half at so many units, and how it falls.
    hard_deg, hard_power: the most is a half for a head on which this error is to be expected whatever is found.
    """

    shapes: float = 0.4
    outlines: float = 0.15
    over: float = 0.15
    error_deg: float = 6.0
    misfit: float = 2.0
    least_turn_deg: float = 8.0
    unheard: float = 1.5
    half: float = 2.8
    power: float = 2.0
    hard_deg: float = 7.0
    hard_power: float = 1.43


@dataclass(frozen=True, slots=True)
class Told:
    """All that was told of one picture. other: by the second outline, None where it is not heard; hard_deg: error to be expected
    of this head whatever is found."""

    turn: Turn
    first: Found
    other: Found | None
    seen: Seen
    hard_deg: float


def confidence(o: DoubtOptions, told: Told) -> float:
    """0..1: what share of turns like this is right."""
    largest = max(abs(told.first.turn_deg), abs(told.seen.turn_deg))
    turn = max(largest, o.least_turn_deg)
    if told.other is not None:
        outlines = (told.first.turn_deg - told.other.turn_deg) / (o.outlines * turn)
    else:
        outlines = o.unheard if largest >= o.least_turn_deg else 0.0
    doubt = math.hypot(
        told.first.range_deg / (o.shapes * turn),
        outlines,
        told.seen.apart_deg / (o.over * turn),
        told.turn.error_deg / o.error_deg,
        told.first.misfit / o.misfit,
    )
    return float(min(1 / (1 + (doubt / o.half) ** o.power), most_confidence(o, told.hard_deg)))


def most_confidence(o: DoubtOptions, hard_deg: float) -> float:
    """What confidence there can be, 0..1, where this error is to be expected whatever is found."""
    return float(1 / (1 + (hard_deg / o.hard_deg) ** o.hard_power))
