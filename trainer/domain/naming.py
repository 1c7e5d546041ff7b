"""What a day, an instant and a stroke on record are called, wherever they are shown: one name for one thing, in local time."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import date, datetime

_MOST_DIGITS = 12  # more is no number of a stroke, and past 18 none that the record could hold
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
PHONE = "phone"  # as the name of a camera


def day_words(day: date, today: date | None = None) -> str:
    """ "27 Nov 2026"; without the year where it is today's."""
    year = "" if today is not None and today.year == day.year else f" {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def moment_words(at: datetime, today: date | None = None) -> str:
    """ "27 Nov, 18:40": the name of a session that began then. at: aware."""
    local = at.astimezone()
    return f"{day_words(local.date(), today)}, {local:%H:%M}"


def stroke_name(session_at: datetime, number: int, today: date | None = None) -> str:
    """ "27 Nov, 18:40, stroke 3". session_at: when its session began, aware; number: in that session, from 1."""
    return f"{moment_words(session_at, today)}, stroke {number}"


@dataclass(frozen=True, slots=True)
class StrokeNumber:
    """How a stroke is chosen. session_back: counted back from the last session, which is 1; number: of the stroke in it."""

    session_back: int
    number: int

    def __str__(self) -> str:
        return f"{self.session_back}/{self.number}"


def stroke_number(text: str) -> StrokeNumber | None:
    """ "2/5", or "5" in the last session; None: it is neither."""
    session, slash, number = text.rpartition("/")
    parts = (session, number) if slash else (number,)
    if not all(part.isdecimal() and len(part) <= _MOST_DIGITS and int(part) > 0 for part in parts):
        return None
    return StrokeNumber(int(session) if slash else 1, int(number))


def folded(name: str) -> str:
    """What two names that look the same have in common."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())
