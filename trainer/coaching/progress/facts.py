"""One stroke as progress sees it: what kind, when, told or not, its measures that were surely seen, its faults."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby
from typing import Iterable, Mapping, Sequence

from trainer.coaching.progress.proportions import Proportion, proportion_of
from trainer.coaching.verdict import BY_TIMING
from trainer.domain.measures import LIMITED, MEASURES
from trainer.domain.verdict import FAULT_NAMES

# Those that progress reads of each stroke: a fault is told in them, or a drill may ask for them.
MEASURES_READ = tuple(s.name for s in MEASURES.values() if s.fault is not None or s.goal is not None)
# Fault -> the measures without any of which there was no verdict; the later ones are those of earlier releases.
TOLD_IN: Mapping[str, tuple[str, ...]] = {
    **{name: ("head_turn_deg",) if name in BY_TIMING else (LIMITED[name].name,) for name in FAULT_NAMES},
    "sway": (LIMITED["sway"].name, "sway_cm"),
}


@dataclass(frozen=True, slots=True)
class StrokeFacts:
    """measures: value of those seen surely enough; told: None when not known; felt: what the player said
    before the result, good or not, None when nothing was said; at: aware, in the zone to be shown; session_at: when its
    session began, likewise, None when not known; too_close: the look was called neither early nor held; asked: faults that are
    judged from there; unsure: of these, not seen surely enough, None: not known; drill_good: by its drill's rule.
    """

    stroke_id: int
    uid: str
    session: str
    at: datetime
    kind: str
    told: bool | None
    drill: str | None
    stage: str | None
    measures: Mapping[str, float]
    faults: tuple[str, ...]
    felt: bool | None = None
    session_at: datetime | None = None
    too_close: bool = False
    asked: tuple[str, ...] = FAULT_NAMES
    unsure: tuple[str, ...] | None = ()
    drill_good: bool | None = None
    view: str = "face-on"

    @property
    def good(self) -> bool | None:
        """Without any fault; None: that could not be called of each that was asked for."""
        return self.without(self.asked)

    def without(self, names: Iterable[str]) -> bool | None:
        """Without these faults; None: none was found, and not each of them could be called."""
        found = [self.found(name) for name in names]
        return False if any(found) else None if not found or None in found else True

    def found(self, name: str) -> bool | None:
        """Whether it has this fault; None: that is not judged from there, was not seen surely, or was too close to call."""
        if name in self.faults:
            return True
        if name not in self.asked or (self.too_close and name in BY_TIMING):
            return None
        if self.unsure is not None:
            return None if name in self.unsure else False
        return False if self.told_of(name) else None

    def told_of(self, name: str) -> bool:
        """What this fault is told in was seen."""
        return not self.measures.keys().isdisjoint(TOLD_IN[name])

    @property
    def look_after_s(self) -> float | None:
        return look_after_s(self.measures)


def look_after_s(measures: Mapping[str, float]) -> float | None:
    """From settle to look; negative when the look came first; None when either was not seen."""
    early = measures.get("early_by_s")
    return measures.get("hold_s") if early is None else -early


@dataclass(frozen=True, slots=True)
class Session:
    """Strokes of one session, in order. ball: those with a ball, which are scored."""

    uid: str
    strokes: tuple[StrokeFacts, ...]

    @property
    def day(self) -> date:
        return self.strokes[0].at.date()

    @property
    def began(self) -> datetime:
        """That of its first stroke, where it is not known."""
        return self.strokes[0].session_at or self.strokes[0].at

    @property
    def ball(self) -> tuple[StrokeFacts, ...]:
        return tuple(s for s in self.strokes if s.kind == "ball")

    @property
    def share(self) -> Proportion | None:
        """Ball strokes without any fault."""
        return without_fault(self.ball)

    def without(self, names: Sequence[str]) -> Proportion | None:
        """Ball strokes without these faults."""
        return without_fault(self.ball, names)

    def values(self, measure: str) -> list[float]:
        """Of the ball strokes in which it was seen; look_after_s too."""
        return values_of(self.ball, measure)


def without_fault(strokes: Iterable[StrokeFacts], names: Sequence[str] | None = None) -> Proportion | None:
    """Of those that could be called. names: without these; None: without any that is judged."""
    called = [c for s in strokes if (c := s.good if names is None else s.without(names)) is not None]
    return proportion_of(sum(called), len(called))


def with_fault(strokes: Iterable[StrokeFacts], name: str) -> Proportion | None:
    """Of those in which this fault could be called."""
    called = [found for s in strokes if (found := s.found(name)) is not None]
    return proportion_of(sum(called), len(called))


def values_of(strokes: Iterable[StrokeFacts], measure: str) -> list[float]:
    """A measure's values where it was seen."""
    if measure == "look_after_s":
        return [v for s in strokes if (v := s.look_after_s) is not None]
    return [s.measures[measure] for s in strokes if measure in s.measures]


def sessions_of(strokes: Iterable[StrokeFacts]) -> list[Session]:
    """In order of their first stroke. strokes: in order of time."""
    first: dict[str, int] = {}
    listed = list(strokes)
    for i, stroke in enumerate(listed):
        first.setdefault(stroke.session, i)
    ordered = sorted(listed, key=lambda s: first[s.session])  # stable: the order inside a session stays
    return [Session(uid, tuple(group)) for uid, group in groupby(ordered, key=lambda s: s.session)]
