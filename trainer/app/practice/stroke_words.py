"""A finished stroke in one line."""

from __future__ import annotations

from trainer.app.strokes import verdict_words
from trainer.live.pipeline import Finished


def stroke_line(finished: Finished, camera: str = "") -> str:
    """camera: said before it, where there are two."""
    hold = finished.record.measures.get("hold_s")
    held = f", held {hold.value:.1f} s" if not camera and hold is not None and hold.value is not None else ""
    words = verdict_words(finished.verdict.faults, finished.verdict.indeterminate)
    before = f"{camera}, " if camera else ""
    return f"{before}stroke {finished.number} ({finished.record.kind}){held}: {words}"
