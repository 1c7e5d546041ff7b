"""What is drawn while practising, as values of their own: targets, the drill in words, orders by arms, the mark on the ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from trainer.domain.observation import Handedness
from trainer.domain.player_frame import Point
from trainer.feedback.signs import Sign


@dataclass(frozen=True)
class Targets:
    """What is aimed at, as far as it is drawn. hold_s: how long to hold; turn_deg: head turn that is a look.

    silent: strokes are measured and nothing tells the player how they were, neither sound nor sign;
    result_delay_s: least time from settle to the result's sign; notes: small lines that stay.
    """

    hold_s: float = 1.0
    turn_deg: float = 12.0
    handedness: Handedness = "right"
    silent: bool = False
    result_delay_s: float = 0.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class DrillView:
    """A drill under way, in words. stroke, tally, follows: lines; silent: its test, of which nothing is told;
    distance: how far back for the next putt; last: how far the last one ran; mark_cm: that place behind the ball,
    label: what is written at it, None: no mark; news: a sign for what is over, shown after the result.
    """

    stroke: str
    tally: str = ""
    follows: str = ""
    silent: bool = False
    distance: str = ""
    last: str = ""
    mark_cm: float | None = None
    label: str = ""
    news: Sign | None = None


@dataclass(frozen=True, slots=True)
class GestureView:
    """Orders by arms, as drawn. hint: what may be ordered now; holding: the order whose position is held, and its share of
    the time; asks: the player is asked the question; felt: the answer to the last stroke.
    """

    hint: str = ""
    holding: tuple[str, float] | None = None
    asks: bool = False
    felt: bool | None = None
    question: Literal["feel", "guess"] = "feel"


@dataclass(frozen=True, slots=True)
class GroundMark:
    """Where to draw. at: the place of the putter's face at the top, in the player's frame; ball: whose line it is
    measured on; None: not known, and reason says why.
    """

    at: Point | None = None
    ball: Point | None = None
    diameter_px: float = 0.0
    reason: str = ""
