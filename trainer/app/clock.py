"""The clock of the use cases."""

from __future__ import annotations

from datetime import date, datetime, timezone


def now() -> datetime:
    """In UTC."""
    return datetime.now(timezone.utc)


def today() -> date:
    """In local time."""
    return now().astimezone().date()
