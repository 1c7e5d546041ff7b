"""The page's charts. Each gives an SVG and the words that say the same."""

from __future__ import annotations

import statistics
from dataclasses import dataclass

from trainer.coaching.progress.facts import Session
from trainer.coaching.progress.summary import Progress
from trainer.coaching.progress.words import work_words
from trainer.domain.naming import moment_words
from trainer.report.svg import DASHES, Axis, Chart

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
    chart = Chart(WIDE, 2.7)
    found = [share for s in sessions if (share := progress.score(s)) is not None]
    for x, share in enumerate(found):
        chart.line([(x, 100 * share.low), (x, 100 * share.high)], "band", 5)
    values = [(float(x), 100 * share.value) for x, share in enumerate(found)]
    chart.line(values, "line", 1.2)
    chart.dots(values, "line", 6)
    what = work_words(progress)
    label = f"without {what}, %" if len(what) < 30 else "without them, %"
    chart.y = Axis(label, -3, 103, [(share, f"{share}") for share in (0, 25, 50, 75, 100)])
    chart.x = _sessions(sessions)
    first, last = found[0], found[-1]
    words = f"Share of ball strokes without {what}, {len(found)} sessions: first {first.words()}, last {last.words()}."
    return Picture(chart.svg("shares", words), words)


def strip(progress: Progress, measure: str, label: str, unit: str, limit: float | None, key: str) -> Picture | None:
    """Every ball stroke as a dot, session by session, with each session's median."""
    sessions = [s for s in progress.sessions if s.values(measure)][-MAX_SESSIONS:]
    if not sessions:
        return None
    chart = Chart(WIDE, 2.7)
    medians = []
    for i, session in enumerate(sessions):
        values = session.values(measure)
        # Spread sideways by order, so that dots of one session do not hide one another.
        wide = [i + 0.6 * ((j + 0.5) / len(values) - 0.5) for j in range(len(values))]
        chart.dots(zip(wide, values, strict=True), "line", DOT, 0.75)
        medians.append(statistics.median(values))
        chart.line([(i - 0.36, medians[-1]), (i + 0.36, medians[-1])], "ink", 2)
    if limit is not None:
        chart.across(limit, "ink", 1, DASHES, f"limit\n{limit:g} {unit}")
    if min(min(s.values(measure)) for s in sessions) < 0:
        chart.across(0, "soft")
    chart.y.label = f"{label}, {unit}"
    chart.x = _sessions(sessions)
    words = (
        f"{label.capitalize()} of every ball stroke, {len(sessions)} sessions. Median of the first {medians[0]:.2f}"
        f" {unit}, of the last {medians[-1]:.2f} {unit}."
    )
    return Picture(chart.svg(key, words), words)


def change(progress: Progress) -> Picture | None:
    """The EWMA chart of when the look comes."""
    found = progress.change
    if found is None:
        return None
    chart = Chart(WIDE, 2.7)
    chart.area(enumerate(found.moving.low, 1), enumerate(found.moving.high, 1))
    chart.across(found.usual.level, "soft")
    chart.dots(enumerate(found.values, 1), "soft", DOT, 0.6)
    chart.line(enumerate(found.moving.points, 1), "line")
    outside = found.moving.changes
    chart.dots([(c.at + 1, found.moving.points[c.at]) for c in outside], "bad", 6, diamonds=True)
    chart.x.label, chart.y.label = "ball stroke", "look after rest, s"
    words = (
        f"Moving average of the look's time after rest over {len(found.values)} ball strokes, against the band of the first"
        f" {found.usual.count}: it left the band {len(outside)} times."
    )
    return Picture(chart.svg("change", words), words)


def learning(progress: Progress) -> Picture | None:
    """Session medians with the fitted curve."""
    curve = progress.curve
    if curve is None:
        return None
    medians = [statistics.median(v) for s in progress.sessions if (v := s.values("look_after_s"))]
    chart = Chart(WIDE, 2.5)
    fine = [i * (len(medians) - 1) / 200 for i in range(201)]
    chart.area([(n, curve.at(n) - curve.misfit) for n in fine], [(n, curve.at(n) + curve.misfit) for n in fine])
    chart.line([(n, curve.at(n)) for n in fine], "line")
    chart.dots(enumerate(medians), "ink", DOT)
    chart.x.label, chart.y.label = "session", "look after rest, s"
    words = (
        f"Learning curve over {len(medians)} sessions, from {curve.at(0):.2f} s toward {curve.end:.2f} s after rest."
    )
    return Picture(chart.svg("learning", words), words)


def feedback(progress: Progress) -> Picture | None:
    """With feedback against without."""
    both = [("with", progress.feedback.with_feedback), ("without", progress.feedback.without_feedback)]
    there = [(name, part) for name, part in both if part is not None]
    if not there:
        return None
    chart = Chart(WIDE, 1.5)
    for i, (_, part) in enumerate(there):
        chart.line([(100 * part.low, i), (100 * part.high, i)], "band", 10)
        chart.dots([(100 * part.value, i)], "good" if i == 0 else "line", 8)
    names = [(float(i), f"{name} ({part.total})") for i, (name, part) in enumerate(there)]
    chart.y = Axis("", len(there) - 0.4, -0.6, names)
    chart.x = Axis(f"without {work_words(progress)}, %", -2, 102)
    words = "; ".join(f"{name}: {part.words()} of {part.total} strokes" for name, part in there)
    return Picture(chart.svg("told", f"Without {work_words(progress)}, {words}."), words)


def _sessions(sessions: list[Session]) -> Axis:
    """Dates below, as many as fit."""
    step = max(1, (len(sessions) + 9) // 10)
    day = sessions[-1].day
    ticks = [
        (float(i), moment_words(sessions[i].began, day).replace(", ", "\n")) for i in range(0, len(sessions), step)
    ]
    return Axis("", -0.6, len(sessions) - 0.4, ticks)
