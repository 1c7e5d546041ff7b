"""Where the ball of a stroke went, as the player says it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Mapping, get_args

from trainer.texts import tr_of

Where = Literal["holed", "short", "long", "left", "right"]
WHERE: tuple[Where, ...] = get_args(Where)
WHERE_WORDS: Mapping[Where, str] = {
    "holed": tr_of("ball", "holed"),
    "short": tr_of("ball", "short"),
    "long": tr_of("ball", "long"),
    "left": tr_of("ball", "left"),
    "right": tr_of("ball", "right"),
}


@dataclass(frozen=True, slots=True)
class PuttOutcome:
    """putt_m: how far it was; None: not said."""

    where: Where
    putt_m: float | None = None
