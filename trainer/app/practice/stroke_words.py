"""A finished stroke in one line."""

from __future__ import annotations

from trainer.app.strokes import verdict_words
from trainer.domain.measures import confident_value
from trainer.domain.naming import kind_words
from trainer.domain.record import doubt
from trainer.live.pipeline import Finished
from trainer.texts import join, tr


def stroke_line(finished: Finished, camera: str = "") -> str:
    """camera: said before it, where there are two."""
    hold = confident_value(finished.record.measures.get("hold_s"))
    held = (
        tr(", held {hold:.1f} s", hold=hold)
        if not camera and hold is not None and not finished.verdict.too_close
        else ""
    )
    verdict = finished.verdict
    words = verdict_words(verdict.faults, verdict.indeterminate, verdict.too_close)
    if why := doubt(finished.record):
        words = join("; ", (words, why))
    before = tr("{camera}, ", camera=camera) if camera else ""
    return tr(
        "{before}stroke {number} ({kind}){held}: {words}",
        before=before,
        number=finished.number,
        kind=kind_words(finished.record.kind),
        held=held,
        words=words,
    )
