"""The clock of the use cases."""

from __future__ import annotations

from datetime import datetime, timezone


def now() -> datetime:
    """In UTC."""
    return datetime.now(timezone.utc)
