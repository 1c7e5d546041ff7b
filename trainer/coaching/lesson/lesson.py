"""A lesson as it is kept: how far it has come, and all that was decided in it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Step = Literal["before", "priority", "tries", "ended"]


@dataclass(frozen=True, slots=True)
class Try:
    """A change that was tried. note: a line; stroke: uid of one that was made so; picture: name of a kept posture."""

    uid: str
    at: datetime
    note: str
    stroke: str | None = None
    picture: str | None = None


@dataclass(frozen=True, slots=True)
class Lesson:
    """before, after: uids of the sessions of strokes as they are and of the same again; priority: a fault's or a posture
    measure's name, or words of the coach; priority_by: who chose it; later: names, in order; words: the coach's, to take
    home; homework: uid.
    """

    uid: str
    begun_at: datetime
    changed_at: datetime
    who: str = ""
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    priority: str | None = None
    priority_by: Literal["", "trainer", "coach"] = ""
    why: str = ""
    later: tuple[str, ...] = ()
    words: str = ""
    homework: str | None = None
    ended_at: datetime | None = None
    tries: tuple[Try, ...] = ()

    @property
    def step(self) -> Step:
        """What comes next."""
        if self.ended_at is not None:
            return "ended"
        if not self.before:
            return "before"
        return "priority" if self.priority is None else "tries"
