"""The most recent strokes of the record, and a stroke's verdict in words."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Iterable, Sequence

from trainer.app.context import RunContext, student_named
from trainer.coaching.verdict import Verdict as Verdict
from trainer.domain.verdict import FAULT_NAMES, Fault
from trainer.errors import UsageError
from trainer.store.store import StrokeLine


@dataclass(frozen=True, slots=True)
class StrokesRequest:
    """The newest so many; of this student only if named, who may be a player who is no student."""

    count: int = 20
    student: str | None = None


@dataclass(frozen=True, slots=True)
class RecentStrokes:
    """folder: of the record; strokes: newest first."""

    folder: Path
    strokes: tuple[StrokeLine, ...]


def recent_strokes(context: RunContext, request: StrokesRequest) -> RecentStrokes:
    player = request.student
    if player is not None:
        with suppress(UsageError):  # a name in the record only
            player = student_named(context.base, player).name
    with context.open_store() as store:
        return RecentStrokes(context.folder, tuple(store.recent(request.count, player)))


def fault_words(name: str) -> str:
    """A fault's name as it is read."""
    return name.replace("_", " ")


def verdict_words(found: Sequence[Fault], indeterminate: Sequence[str] = ()) -> str:
    """Faults in words; none is said too, and what could not be judged is never passed off as none."""
    words = [", ".join(fault_words(fault.name) for fault in found)] if found else []
    if indeterminate:
        words.append(f"not sure: {', '.join(map(fault_words, indeterminate))}")
    return "; ".join(words) if words else "none"


def indeterminate_line(strokes: Iterable[Sequence[str]]) -> str | None:
    """strokes: for each the faults that could not be judged. How many strokes have one, and which; None without any."""
    some = [names for names in strokes if names]
    if not some:
        return None
    which = [fault_words(name) for name in FAULT_NAMES if any(name in names for names in some)]
    return f"not sure: {len(some)} stroke{'' if len(some) == 1 else 's'} ({', '.join(which)})"
