"""Drills that have other ids now: the one table by which old ids are read, wherever they stand."""

from __future__ import annotations

from typing import Iterable, Mapping

# Id up to release 0.1 -> the present one. Never taken out: records, profiles and drill files keep what they were given.
OLD_IDS: Mapping[str, str] = {
    "quiet-hands": "hands-carry-on",
    "soft-backstroke": "unhurried-backstroke",
    "hands-past-the-leg": "hands-through",
}


def present_id(drill_id: str) -> str:
    """The id as it is today; one that was never changed is its own."""
    return OLD_IDS.get(drill_id, drill_id)


def present_ids(drill_ids: Iterable[str]) -> list[str]:
    """Of each, in order, each once."""
    return list(dict.fromkeys(present_id(drill_id) for drill_id in drill_ids))
