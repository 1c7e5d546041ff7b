"""A card: why a fault costs, or what a drill is for, in plain words. Every claim says where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Mapping

from trainer.coaching.reasons.figure import Panel
from trainer.texts import join, tr

COMMON_PRACTICE = tr("common practice, no source")
REST = tr("Rest after about twenty strokes, and stop at once if something hurts.")
Status = Literal["read", "second hand", "memory", "worked out", "not found"]
_HOW: Mapping[Status, str] = {
    "read": tr("abstract or page read"),
    "second hand": tr("as others cite it"),
    "memory": tr("from memory"),
    "worked out": tr("worked out with this trainer's own model"),
    "not found": tr("looked for in the literature, none found"),
}


@dataclass(frozen=True, slots=True)
class Source:
    """work: who, when, where; status: how it was read."""

    work: str
    status: Status = "read"

    @property
    def words(self) -> str:
        return tr("{work} ({how})", work=self.work, how=_HOW[self.status]) if self.work else _HOW[self.status]


@dataclass(frozen=True, slots=True)
class Claim:
    """text: in plain words; sources: what it rests on, none: common practice."""

    text: str
    sources: tuple[Source, ...] = ()

    @property
    def source(self) -> str:
        """Where it comes from, in words."""
        return join("; ", (source.words for source in self.sources)) or COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class Card:
    """name: the fault's name or the drill's id; tries: three things; overdo: what not to; stop: when it is enough."""

    name: str
    kind: Literal["fault", "drill"]
    title: str
    what: Claim
    why: tuple[Claim, ...]
    feel: Claim
    tries: tuple[Claim, Claim, Claim]
    overdo: Claim
    stop: Claim
    figure: tuple[Panel, ...]

    def sections(self) -> tuple[tuple[str, tuple[Claim, ...]], ...]:
        """(heading, claims), in the order to be read."""
        costs = tr("Why it costs") if self.kind == "fault" else tr("What it is for")
        return (
            (tr("What it is"), (self.what,)),
            (costs, self.why),
            (tr("How it feels"), (self.feel,)),
            (tr("Three things to try"), self.tries),
            (tr("Do not overdo"), (self.overdo,)),
            (tr("When to stop"), (self.stop,)),
        )
