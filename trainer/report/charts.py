"""The page's charts. Each gives an SVG and the words that say the same."""

from __future__ import annotations

import statistics
from dataclasses import dataclass
from typing import Any

from trainer.coaching.progress.facts import Session
from trainer.coaching.progress.summary import Progress
from trainer.coaching.progress.words import work_words
from trainer.domain.naming import moment_words
from trainer.domain.units import unit_words
from trainer.report.svg import BAD, BAND, GOOD, INK, LINE, SOFT, Drawing
from trainer.texts import capital, join, shown, tr, tr_count, tr_of

WIDE = 7.6
MAX_SESSIONS = 40  # more are no longer told apart
DOT = 5.5  # of one stroke, in points: read from a chair's distance


@dataclass(frozen=True, slots=True)
class Picture:
    """svg: the element; words: what it shows, for those who do not see it."""

    svg: str
    words: str


def proportions(progress: Progress) -> Picture | None:
    """Proportion of ball strokes without what is worked on per session with 95 % intervals."""
    sessions = [s for s in progress.sessions if progress.score(s) is not None][-MAX_SESSIONS:]
    if not sessions:
        return None
    drawing = Drawing(WIDE, 2.7)
    ax = drawing.axes
    x = range(len(sessions))
    found = [share for s in sessions if (share := progress.score(s)) is not None]
    ax.vlines(x, [100 * f.low for f in found], [100 * f.high for f in found], color=BAND, linewidth=5)
    ax.plot(x, [100 * f.value for f in found], "o-", color=LINE, markersize=6, linewidth=1.2)
    ax.set_ylim(-3, 103)
    ax.set_yticks([0, 25, 50, 75, 100])
    what = work_words(progress)
    ax.set_ylabel(shown(tr("ball strokes, %")))
    _sessions(ax, sessions)
    first, last = found[0], found[-1]
    words = tr(
        "Share of ball strokes without {work}, {sessions}: first {first}, last {last}.",
        work=what,
        sessions=tr_count("{count} session", "{count} sessions", len(found)),
        first=first.words(),
        last=last.words(),
    )
    return Picture(drawing.svg("shares", words), words)


def strip(progress: Progress, measure: str, label: str, unit: str, limit: float | None, key: str) -> Picture | None:
    """Every ball stroke as a dot, session by session, with each session's median."""
    sessions = [s for s in progress.sessions if s.values(measure)][-MAX_SESSIONS:]
    if not sessions:
        return None
    drawing = Drawing(WIDE, 2.7)
    ax = drawing.axes
    medians = []
    for i, session in enumerate(sessions):
        values = session.values(measure)
        # Spread sideways by order, so that dots of one session do not hide one another.
        wide = [i + 0.6 * ((j + 0.5) / len(values) - 0.5) for j in range(len(values))]
        ax.plot(wide, values, "o", color=LINE, markersize=DOT, alpha=0.75, markeredgewidth=0)
        medians.append(statistics.median(values))
        ax.hlines(medians[-1], i - 0.36, i + 0.36, color=INK, linewidth=2)
    if limit is not None:
        ax.axhline(limit, color=INK, linewidth=1, linestyle=(0, (4, 3)))
        at: Any = {"xycoords": ("axes fraction", "data"), "ha": "left", "va": "center"}
        words = tr(" limit\n {limit:g} {unit}", limit=limit, unit=unit_words(unit))
        ax.annotate(shown(words), (1, limit), color=INK, fontsize=9, **at)
    if min(min(s.values(measure)) for s in sessions) < 0:
        ax.axhline(0, color=SOFT, linewidth=0.8)
    ax.set_ylabel(shown(tr("{label}, {unit}", label=label, unit=unit_words(unit))))
    _sessions(ax, sessions)
    words = tr(
        "{label} of every ball stroke, {sessions}. Median of the first {first:.2f} {unit},"
        " of the last {last:.2f} {unit}.",
        label=capital(label),
        sessions=tr_count("{count} session", "{count} sessions", len(sessions)),
        first=medians[0],
        last=medians[-1],
        unit=unit_words(unit),
    )
    return Picture(drawing.svg(key, words), words)


def change(progress: Progress) -> Picture | None:
    """The EWMA chart of when the look comes."""
    found = progress.change
    if found is None:
        return None
    drawing = Drawing(WIDE, 2.7)
    ax = drawing.axes
    x = range(1, len(found.values) + 1)
    ax.fill_between(x, found.moving.low, found.moving.high, color=BAND, linewidth=0)
    ax.axhline(found.usual.level, color=SOFT, linewidth=0.8)
    ax.plot(x, found.values, "o", color=SOFT, markersize=DOT, alpha=0.6, markeredgewidth=0)
    ax.plot(x, found.moving.points, color=LINE, linewidth=1.8)
    outside = found.moving.changes
    ax.plot([c.at + 1 for c in outside], [found.moving.points[c.at] for c in outside], "D", color=BAD, markersize=6)
    ax.set_xlabel(shown(tr("ball stroke")))
    ax.set_ylabel(shown(tr("look after rest, s")))
    words = tr(
        "Moving average of the look's time after rest over {strokes} ball strokes, against the band of the first"
        " {usual}: it left the band {times} times.",
        strokes=len(found.values),
        usual=found.usual.count,
        times=len(outside),
    )
    return Picture(drawing.svg("change", words), words)


def learning(progress: Progress) -> Picture | None:
    """Session medians with the fitted curve."""
    curve = progress.curve
    if curve is None:
        return None
    medians = [statistics.median(v) for s in progress.sessions if (v := s.values("look_after_s"))]
    drawing = Drawing(WIDE, 2.5)
    ax = drawing.axes
    fine = [i * (len(medians) - 1) / 200 for i in range(201)]
    ax.fill_between(
        fine,
        [curve.at(n) - curve.misfit for n in fine],
        [curve.at(n) + curve.misfit for n in fine],
        color=BAND,
        linewidth=0,
    )
    ax.plot(fine, [curve.at(n) for n in fine], color=LINE, linewidth=1.8)
    ax.plot(range(len(medians)), medians, "o", color=INK, markersize=DOT)
    ax.set_xlabel(shown(tr("session")))
    ax.set_ylabel(shown(tr("look after rest, s")))
    words = tr(
        "Learning curve over {sessions} sessions, from {start:.2f} s toward {end:.2f} s after rest.",
        sessions=len(medians),
        start=curve.at(0),
        end=curve.end,
    )
    return Picture(drawing.svg("learning", words), words)


def feedback(progress: Progress) -> Picture | None:
    """With feedback against without."""
    both = [
        (tr_of("feedback", "with"), progress.feedback.with_feedback),
        (tr_of("feedback", "without"), progress.feedback.without_feedback),
    ]
    there = [(name, part) for name, part in both if part is not None]
    if not there:
        return None
    drawing = Drawing(WIDE, 1.5)
    ax = drawing.axes
    for i, (_, part) in enumerate(there):
        ax.hlines(i, 100 * part.low, 100 * part.high, color=BAND, linewidth=10)
        ax.plot([100 * part.value], [i], "o", color=GOOD if i == 0 else LINE, markersize=8)
    ax.set_yticks(range(len(there)), [f"{shown(name)} ({part.total})" for name, part in there])
    ax.set_ylim(len(there) - 0.4, -0.6)
    ax.set_xlim(-2, 102)
    ax.set_xlabel(shown(tr("ball strokes without {work}, %", work=work_words(progress))))
    words = join(
        "; ",
        (
            tr("{name}: {share} of {total} strokes", name=name, share=part.words(), total=part.total)
            for name, part in there
        ),
    )
    title = tr("Without {work}, {words}.", work=work_words(progress), words=words)
    return Picture(drawing.svg("told", title), words)


def _sessions(ax: Any, sessions: list[Session]) -> None:
    """Dates below, as many as fit."""
    step = max(1, (len(sessions) + 9) // 10)
    ticks = list(range(0, len(sessions), step))
    ax.set_xticks(ticks, [shown(moment_words(sessions[i].began, sessions[-1].day)).replace(", ", "\n") for i in ticks])
    ax.set_xlim(-0.6, len(sessions) - 0.4)
