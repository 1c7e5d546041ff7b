"""Weighs the turn that the registration found against the learned witness', and says what error is to be expected of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from trainer.vision.head.witness import Rest, Seen

# Why a head is hard to read: little structure, little contrast, a wide brim.
Hard = Literal["", "plain", "faint", "brim"]


@dataclass(frozen=True, slots=True)
class Found:
    """What the registration says: turn and spread of its hypotheses (deg), misfit: their residual relative to rest; range_deg:
    from the least to the largest of their turns."""

    turn_deg: float
    spread_deg: float
    sigma_deg: float
    misfit: float
    range_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class FusionOptions:
    """Set by the study in STUDY.md ("A learned witness").

    The registration's standard error: at_rest_deg, and per_turn of the turn; of a plain head (structure below plain_below) that
    grows per_plain times with what is missing; all of it with the square root of the misfit beyond fair_misfit. What the witness
    sees beyond the registration's turn is error too, by beyond: a registration that loses hold falls short, and one below
    near_rest_deg may have fallen to the other side.
    The witness' error: witness_scale times what it tells and apart_scale times what turning the pictures over changes; where it
    falls short itself on a head with structure, of a turn of at_least_deg or more, up to falls_short times more.
    disagree: share of the difference of both that is expected as error. A hard head is one at rest already: hard_deg of error
    for one without any structure, and as much for one without any contrast below fair_contrast; brim_deg under a wide brim.
    """

    at_rest_deg: float = 0.6
    per_turn: float = 0.06
    plain_below: float = 1.15
    per_plain: float = 25.0
    fair_misfit: float = 1.5
    beyond: float = 0.8
    near_rest_deg: float = 10.0
    witness_scale: float = 1.3
    apart_scale: float = 2.0
    falls_short: float = 4.0
    at_least_deg: float = 6.0
    structure_range: tuple[float, float] = (0.9, 1.2)
    disagree: float = 0.4
    hard_deg: float = 8.0
    fair_contrast: float = 20.0
    brim_deg: float = 25.0


@dataclass(frozen=True, slots=True)
class Turn:
    """turn_deg and the error to be expected of it."""

    turn_deg: float
    error_deg: float


def fuse(options: FusionOptions, found: Found, seen: Seen, rest: Rest) -> Turn:
    """Both by their precision. rest: what there is to see on the head at rest."""
    structure = rest.structure
    own, other = _registration_error(options, found, seen, structure), _witness_error(options, found, seen, structure)
    share = own**2 / (own**2 + other**2)
    turn = (1 - share) * found.turn_deg + share * seen.turn_deg
    both = own * other / np.hypot(own, other)
    apart = options.disagree * (found.turn_deg - seen.turn_deg)
    hard = hard_deg(options, rest)
    return Turn(float(turn), float(np.sqrt(both**2 + (0.5 * found.sigma_deg) ** 2 + apart**2 + hard**2)))


def together(options: FusionOptions, a: Turn, b: Turn) -> Turn:
    """Of one head by two outlines, by their precision. Both err alike: the error is no smaller for there being two."""
    share = a.error_deg**2 / (a.error_deg**2 + b.error_deg**2)
    apart = options.disagree * (a.turn_deg - b.turn_deg)
    error = math.sqrt((1 - share) * a.error_deg**2 + share * b.error_deg**2 + apart**2)
    return Turn((1 - share) * a.turn_deg + share * b.turn_deg, error)


def _registration_error(o: FusionOptions, found: Found, seen: Seen, structure: float) -> float:
    largest = max(abs(found.turn_deg), abs(seen.turn_deg))
    plain = max(0.0, o.plain_below - structure)
    by_turn = o.at_rest_deg + o.per_turn * largest * (1 + o.per_plain * plain)
    misfit = math.sqrt(_between(found.misfit / o.fair_misfit, 1, 9))
    beyond = max(0.0, seen.turn_deg * np.sign(found.turn_deg) - abs(found.turn_deg))
    fallen = _other_side(o, found, seen) * abs(seen.turn_deg - found.turn_deg)
    return float(np.hypot(np.hypot(by_turn, found.spread_deg) * misfit, o.beyond * max(beyond, fallen)))


def _other_side(o: FusionOptions, found: Found, seen: Seen) -> float:
    """0..1: the two see turns to different sides, and the registration's is so small that it may be one that lost hold."""
    return max(0.0, 1 - abs(found.turn_deg) / o.near_rest_deg) if found.turn_deg * seen.turn_deg < 0 else 0.0


def _witness_error(o: FusionOptions, found: Found, seen: Seen, structure: float) -> float:
    turned = abs(found.turn_deg)
    short = _between((turned - seen.turn_deg * np.sign(found.turn_deg)) / max(turned, o.at_least_deg), 0, 1)
    short *= 1 - _other_side(o, found, seen)
    low, high = o.structure_range
    trusted = _between((structure - low) / (high - low), 0, 1)
    own = np.hypot(o.witness_scale * seen.spread_deg, o.apart_scale * seen.apart_deg)
    return float(own * (1 + o.falls_short * short * trusted))


def _between(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def why_hard(o: FusionOptions, rest: Rest) -> Hard:
    """What of a head at rest there is too little of, if anything."""
    if rest.brim:
        return "brim"
    plain, faint = o.plain_below - rest.structure, 1 - rest.contrast / o.fair_contrast
    return "" if max(plain, faint) <= 0 else "plain" if plain > faint else "faint"


def hard_deg(o: FusionOptions, rest: Rest) -> float:
    """Error to be expected of this head whatever is found."""
    plain = max(0.0, o.plain_below - rest.structure)
    faint = max(0.0, 1 - rest.contrast / o.fair_contrast)
    return float(np.hypot(o.hard_deg * np.hypot(plain, faint), o.brim_deg * rest.brim))
