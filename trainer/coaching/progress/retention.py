"""Silent tests after a pause: 1, 7 and 14 days after the last practice with feedback.

What was learned shows only later and without feedback (Aoyagi et al. 2019, J. Phys. Ther. Sci. 31(8), 687-691, tested
after 1 day, 1 week and 2 weeks).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Sequence

from trainer.coaching.progress.facts import StrokeFacts

AFTER_DAYS = (1, 7, 14)
MIN_STROKES = 5  # strokes in silence that make a test


@dataclass(frozen=True, slots=True)
class Reminder:
    """A test due on a day. done: five strokes in silence were made from that day on, before the next one was due."""

    after_days: int
    due: date
    done: bool


def reminders(strokes: Sequence[StrokeFacts]) -> tuple[Reminder, ...]:
    """The tests that the last practice with feedback asks for; none if there was none."""
    given = [s.at.date() for s in strokes if s.kind == "ball" and s.told]
    if not given:
        return ()
    last = max(given)
    silent = [s.at.date() for s in strokes if s.kind == "ball" and s.told is False]
    out = []
    for after, later in zip(AFTER_DAYS, (*AFTER_DAYS[1:], None), strict=True):
        due = last + timedelta(days=after)
        end = last + timedelta(days=later) if later is not None else date.max
        out.append(Reminder(after, due, sum(due <= day < end for day in silent) >= MIN_STROKES))
    return tuple(out)


def next_due(strokes: Sequence[StrokeFacts], today: date) -> Reminder | None:
    """The test to remind of: the latest that is due, if it is not done; one that was missed before it is let go."""
    due = [r for r in reminders(strokes) if r.due <= today]
    return due[-1] if due and not due[-1].done else None
