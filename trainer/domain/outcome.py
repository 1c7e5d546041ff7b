"""Where the ball of a stroke went, as the player says it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Where = Literal["holed", "short", "long", "left", "right"]
WHERE: tuple[Where, ...] = get_args(Where)


@dataclass(frozen=True, slots=True)
class PuttOutcome:
    """putt_m: how far it was; None: not said."""

    where: Where
    putt_m: float | None = None
