"""The report: one page with everything in it. Nothing is fetched; everything that comes from people is escaped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Sequence

from trainer.coaching.outcome import PayRow
from trainer.coaching.progress.summary import Progress
from trainer.coaching.progress.words import work_words
from trainer.domain.measures import MEASURES, confident_value
from trainer.domain.naming import day_words, moment_words
from trainer.domain.outcome import WHERE_WORDS
from trainer.domain.record import StrokeRecord
from trainer.domain.verdict import fault_words
from trainer.report import charts
from trainer.report.charts import Picture
from trainer.report.html import rendered
from trainer.report.stroke_picture import figure_at_finish, hold_is_shaded, traces
from trainer.settings.limits import Limits
from trainer.texts import capital, join, tr

TEMPLATE = "page.html"


@dataclass(frozen=True, slots=True)
class Section:
    """heading: of the section; note: what it means, in a sentence; missing: why there is no picture yet."""

    heading: str
    picture: Picture | None
    note: str
    missing: str = ""


@dataclass(frozen=True, slots=True)
class PageContent:
    """What the page shows. strokes: (what it is, record) of those to be drawn; sentences: what the numbers say; homework:
    (what, how far it was done); putts: holed with the hold and without it; drill: name of the one for this week.
    """

    name: str
    progress: Progress
    limits: Limits
    strokes: tuple[tuple[str, StrokeRecord], ...]
    sentences: tuple[str, ...]
    day: date
    homework: tuple[tuple[str, str], ...] = ()
    putts: tuple[PayRow, ...] = ()
    drill: str = ""


def page(content: PageContent) -> str:
    """The page's HTML."""
    sessions, sections = content.progress.sessions, _sections(content.progress, content.limits)
    return rendered(
        TEMPLATE,
        name=content.name,
        day_words=day_words,
        moment_words=moment_words,
        progress=content.progress,
        day=content.day,
        period=(sessions[0].day, sessions[-1].day),
        sentences=content.sentences,
        homework=content.homework,
        putts=content.putts,
        sections=[one for one in sections if one.picture],
        waiting=_waiting(content.progress, sections),
        pictures=_pictures(content.strokes),
        fault_words=fault_words,
        drill=content.drill,
        work=work_words(content.progress),
        where_words=WHERE_WORDS,
    )


def _sections(progress: Progress, limits: Limits) -> list[Section]:
    look, turn = limits.short_hold.value, limits.early_look.value
    few = tr("no ball strokes yet")
    return [
        Section(
            tr("Without {work}, session by session", work=work_words(progress)),
            charts.proportions(progress),
            tr("The bars are 95 % intervals: where they overlap much, two sessions may be the same."),
            few,
        ),
        Section(
            tr("When the look comes"),
            charts.strip(progress, "look_after_s", tr("look after rest"), "s", look, "looks"),
            tr("Above the dashed line the hold was long enough; below zero the look came before the putter was still."),
            tr("no look was seen yet"),
        ),
        Section(
            capital(MEASURES["head_turn_deg"].label),
            charts.strip(progress, "head_turn_deg", MEASURES["head_turn_deg"].label, "deg", turn, "turns"),
            tr("Past the dashed line a turn counts as a look."),
            tr("the head was not seen yet"),
        ),
        Section(
            tr("With and without feedback"),
            charts.feedback(progress),
            tr("What is done without feedback is what is learned. Feedback helps while it is there."),
            few,
        ),
        Section(
            tr("A change that is real"),
            charts.change(progress),
            tr(
                "The line is a moving average. Outside the shaded band the change is more than the usual ups and downs of the"
                " first 20 strokes; a diamond marks where it left it. A false alarm comes about once in 500 strokes or sooner."
            ),
            progress.change_reason,
        ),
        Section(
            tr("Learning curve"),
            charts.learning(progress),
            tr(
                "An exponential curve through the sessions' medians; the shade is how far sessions lie from it. It describes"
                " what was; it promises nothing."
            ),
            progress.curve_reason,
        ),
    ]


def _waiting(progress: Progress, sections: Sequence[Section]) -> list[tuple[str, str]]:
    """(heading, what is missing) of what cannot be shown yet."""
    found = [(one.heading, one.missing) for one in sections if not one.picture]
    if not progress.compared:
        needed = tr("three times a rehearsal with a ball stroke right after it are needed")
        found.append((tr("Rehearsal against ball"), needed))
    return found


def _pictures(strokes: Sequence[tuple[str, StrokeRecord]]) -> list[tuple[str, list[Picture], bool]]:
    """(what it is, its pictures, whether a hold is shaded in them)."""
    out = []
    for words, record in strokes:
        key = words.lower()
        hold = confident_value(record.measures.get("hold_s"))
        held = tr(", held {hold:.1f} s", hold=hold) if hold is not None else ""
        drawn = [
            figure_at_finish(record, f"{key}-body", tr("{words} stroke: the body at the finish.", words=words)),
            traces(
                record, f"{key}-traces", tr("{words} stroke: putter and head in time{held}.", words=words, held=held)
            ),
        ]
        there = [picture for picture in drawn if picture is not None]
        if there:
            out.append((join("", (words, held)), there, hold_is_shaded(record)))
    return out
