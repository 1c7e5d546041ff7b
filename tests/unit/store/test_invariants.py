"""Whatever is done with students, in whatever order: their strokes are there, and of who was erased no byte is."""

from __future__ import annotations

from tests.bench.campaign.invariants import run_stories


def test_stories() -> None:
    run_stories(6, 14, 20)
