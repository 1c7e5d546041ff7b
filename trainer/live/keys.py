"""The keys of the windows that watch the player: what each orders and how it is written. One table: the window obeys it, footer
and hints are written from it, README is held to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Collection, Mapping, get_args

from trainer.coaching.gestures import Order
from trainer.live.ports import MUTE, PAUSE, QUIT, SAVE, THEME
from trainer.texts import join, tr, tr_of


@dataclass(frozen=True, eq=False)
class Key:
    """One key, or several that belong together. commands: names as pygame has them -> commands of ``Display.poll``; label: what
    stands on it; does: in a word or two.
    """

    commands: Mapping[str, str]
    label: str
    does: str

    @property
    def words(self) -> str:
        """As the footer writes it."""
        return tr("{key} {does}", key=self.label, does=self.does)


END_KEY = Key({"q": QUIT, "escape": QUIT}, "Q", tr_of("key", "end"))
PAUSE_KEY = Key({"space": PAUSE}, tr_of("key", "Space"), tr_of("key", "pause"))
NEXT_KEY = Key({"n": "next"}, "N", tr_of("key", "next drill"))
HOMEWORK_KEY = Key({"h": "homework"}, "H", tr_of("key", "homework"))
WHY_KEY = Key({"w": "why"}, "W", tr_of("key", "why"))
BALL_KEYS = Key(
    {"1": "holed", "2": "short", "3": "long", "4": "left side", "5": "right side"},
    "1-5",
    tr_of("key", "holed, short, long, left, right"),
)
ANSWER_KEYS = Key(
    {"left": "guess short", "right": "guess long", "up": "good", "down": "not good"},
    tr_of("key", "Arrows"),
    tr_of("key", "answer"),
)
SAVE_KEY = Key({"k": SAVE}, "K", tr_of("key", "keep video"))
MUTE_KEY = Key({"m": MUTE}, "M", tr_of("key", "mute"))
THEME_KEY = Key({"t": THEME}, "T", tr_of("key", "light or dark"))
KEYS = (
    END_KEY, PAUSE_KEY, NEXT_KEY, HOMEWORK_KEY, WHY_KEY, BALL_KEYS, ANSWER_KEYS, SAVE_KEY, MUTE_KEY, THEME_KEY,
)  # fmt: skip

COMMANDS: Mapping[str, str] = {name: command for key in KEYS for name, command in key.commands.items()}
ALWAYS = frozenset({QUIT, PAUSE, MUTE, THEME})  # what acts in every such window
# The commands that are orders of the player's, for the session.
ORDERS: Mapping[str, Order] = {order: order for order in get_args(Order) if order in {*COMMANDS.values()} - ALWAYS}


def acting(commands: Collection[str]) -> tuple[Key, ...]:
    """The keys of these commands."""
    return tuple(key for key in KEYS if any(command in commands for command in key.commands.values()))


def footer_words(commands: Collection[str] = ALWAYS) -> str:
    """The keys that do something now. commands: those that would be obeyed."""
    return join("   ", (key.words for key in acting(commands)))
