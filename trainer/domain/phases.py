"""The phases of a stroke, the sets of them that anybody asks for, and which may follow which, as data."""

from __future__ import annotations

from enum import Enum
from typing import Mapping


class Phase(str, Enum):
    """Where in a stroke the player is. A string too: printed and stored by its value."""

    AWAY = "away"
    SETTING = "setting"  # at the ball, not still yet
    ADDRESS = "address"
    BACKSTROKE = "backstroke"
    FORWARD = "forward"
    FOLLOW = "follow"
    HOLD = "hold"
    LOOKED = "looked"
    WALKED_OFF = "walked_off"

    __str__ = str.__str__

    def __format__(self, spec: str) -> str:
        return str.__format__(self, spec)

    @property
    def absent(self) -> bool:
        """Nobody at the ball."""
        return self in (Phase.AWAY, Phase.WALKED_OFF)

    @property
    def standing(self) -> bool:
        """At the ball, before the stroke."""
        return self in (Phase.SETTING, Phase.ADDRESS)

    @property
    def swinging(self) -> bool:
        """The putter moves."""
        return self in (Phase.BACKSTROKE, Phase.FORWARD, Phase.FOLLOW)

    @property
    def after_impact(self) -> bool:
        """Impact is certain and the stroke not over."""
        return self in (Phase.FOLLOW, Phase.HOLD, Phase.LOOKED)

    @property
    def under_way(self) -> bool:
        """From takeaway until the stroke is over."""
        return self.swinging or self.after_impact

    @property
    def finishing(self) -> bool:
        """Impact is past and the player has not looked yet."""
        return self in (Phase.FOLLOW, Phase.HOLD)

    @property
    def eyes_down(self) -> bool:
        """From address until the look: nothing may draw the player's eyes to the screen."""
        return self is Phase.ADDRESS or self.swinging or self.finishing


# Every way from one phase to the next. "address" may be left for "setting" (moved off), "backstroke" for "address" (a twitch)
# or "setting" (a waggle), "forward" for "setting" (the putter was only put back).
FOLLOWS: Mapping[Phase, frozenset[Phase]] = {
    Phase.AWAY: frozenset({Phase.SETTING}),
    Phase.SETTING: frozenset({Phase.AWAY, Phase.ADDRESS}),
    Phase.ADDRESS: frozenset({Phase.AWAY, Phase.SETTING, Phase.BACKSTROKE}),
    Phase.BACKSTROKE: frozenset({Phase.AWAY, Phase.SETTING, Phase.ADDRESS, Phase.FORWARD}),
    Phase.FORWARD: frozenset({Phase.AWAY, Phase.SETTING, Phase.BACKSTROKE, Phase.FOLLOW}),
    Phase.FOLLOW: frozenset({Phase.SETTING, Phase.HOLD, Phase.LOOKED, Phase.WALKED_OFF}),
    Phase.HOLD: frozenset({Phase.LOOKED, Phase.WALKED_OFF, Phase.SETTING}),
    Phase.LOOKED: frozenset({Phase.SETTING, Phase.WALKED_OFF}),
    Phase.WALKED_OFF: frozenset({Phase.AWAY, Phase.SETTING}),
}
