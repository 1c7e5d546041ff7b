"""What judging gives: faults in the record's own words, and cues for the moment."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, Mapping, get_args

from trainer.texts import shown, tr

FaultName = Literal["early_look", "short_hold", "hand_stall", "recoil", "sway", "lift", "posture_change"]
FAULT_NAMES: tuple[FaultName, ...] = get_args(FaultName)
_CALLED: Mapping[str, str] = {
    "early_look": tr("early look"),
    "short_hold": tr("short hold"),
    "hand_stall": tr("stopped hands"),
    "recoil": tr("recoil"),
    "sway": tr("head going along"),
    "lift": tr("head going up"),
    "posture_change": tr("back moving"),
}
# View -> the faults that are judged from there.
SEEN_FROM: Mapping[str, tuple[FaultName, ...]] = {
    "face-on": tuple(name for name in FAULT_NAMES if name != "posture_change"),
    "down-the-line": ("posture_change",),
}


@dataclass(frozen=True, slots=True)
class Fault:
    """at_s: when it happened; value against limit, same unit."""

    name: str
    at_s: float
    value: float
    unit: str
    limit: float


def fault_words(name: str) -> str:
    """A fault's name as it is read."""
    return _CALLED.get(name, name.replace("_", " "))


def fault_named(text: str) -> FaultName | None:
    """By its key or the words that screens show, in English or as it is read; in whatever case, with blanks, - or _. None: no
    fault is called so."""
    plain = plain_name(text)
    return next((name for name in FAULT_NAMES if plain in names_of(name, _CALLED[name])), None)


def names_of(key: str, words: str) -> tuple[str, ...]:
    """What a person may call a thing: its key, or its words in English or as they are read; each as ``plain_name`` has it."""
    return plain_name(key), plain_name(str(words)), plain_name(shown(words))


def plain_name(name: str) -> str:
    """The same in whatever case, with blanks, - or _."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())


@dataclass(frozen=True, slots=True)
class Cue:
    """Something to sound or show now. name: a fault's name, or "hold_done"; at_s: the frame time that settled it; passed_s: when
    its limit was passed, where that is known and the stroke is live: no part of what is kept.
    """

    name: str
    at_s: float
    passed_s: float | None = field(default=None, compare=False)
