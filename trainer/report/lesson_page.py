"""A lesson on one page: what it was about, before and after side by side, what was tried, what to do this week."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from datetime import date

from trainer.coaching.lesson.lesson import Lesson
from trainer.coaching.lesson.outcome import Outcome
from trainer.coaching.reasons.card import Card
from trainer.domain.record import StrokeRecord
from trainer.domain.units import unit_words
from trainer.report.charts import Picture
from trainer.report.html import rendered
from trainer.report.reason_page import panel_svg
from trainer.report.stroke_picture import figure_at_finish, hold_is_shaded, traces
from trainer.texts import tr


@dataclass(frozen=True, slots=True)
class Shown:
    """A change that was tried. record: a stroke made so; image: JPEG of a kept posture."""

    note: str
    record: StrokeRecord | None = None
    image: bytes | None = None


@dataclass(frozen=True, slots=True)
class LessonContent:
    """What the page shows. about: the priority in words, empty: none; strokes: how many before and after; before, after: one
    typical stroke of each; homework: (what, how far); card: what to try.
    """

    name: str
    lesson: Lesson
    day: date
    about: str
    later: tuple[str, ...]
    outcome: Outcome
    strokes: tuple[int, int]
    before: StrokeRecord | None
    after: StrokeRecord | None
    tries: tuple[Shown, ...]
    homework: tuple[str, str] | None
    card: Card | None


def lesson_page(content: LessonContent) -> str:
    """The page's HTML."""
    sides = [("before", tr("Before"), content.before), ("after", tr("After"), content.after)]
    drawn = [
        (heading, _drawn(record, key, heading), hold_is_shaded(record))
        for key, heading, record in sides
        if record is not None
    ]
    tries = [
        (
            one.note,
            _drawn(one.record, f"try{i}", tr("Try {number}", number=i)) if one.record is not None else [],
            base64.b64encode(one.image).decode() if one.image is not None else "",
        )
        for i, one in enumerate(content.tries, 1)
    ]
    figure = [(panel_svg(panel), panel.caption) for panel in content.card.figure] if content.card is not None else []
    return rendered("lesson.html", c=content, drawn=drawn, tries=tries, figure=figure, unit_words=unit_words)


def _drawn(record: StrokeRecord, key: str, heading: str) -> list[Picture]:
    pictures = (
        figure_at_finish(record, f"{key}-body", tr("{heading}: the body at the finish.", heading=heading)),
        traces(record, f"{key}-traces", tr("{heading}: putter and head in time.", heading=heading)),
    )
    return [picture for picture in pictures if picture is not None]
