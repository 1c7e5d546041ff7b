"""What a day, an instant and a stroke on record are called, wherever they are shown: one name for one thing, in local time."""

from __future__ import annotations

from datetime import date, datetime

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


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
