"""All that is said about a student's progress, worked out once; terminal and page only show it."""

from __future__ import annotations

import statistics
from dataclasses import dataclass
from datetime import date
from typing import Sequence

from trainer.coaching.progress.advice import Job, job
from trainer.coaching.progress.charts import Chart, Sums, Usual, cusum, ewma, usual_of
from trainer.coaching.progress.compare import LENGTH_APART, ByFeedback, by_feedback, lengths_apart
from trainer.coaching.progress.curve import LearningCurve, fit_curve
from trainer.coaching.progress.described import Described, EarlyLooks, described, early_looks
from trainer.coaching.progress.facts import Session, StrokeFacts, sessions_of, with_fault, without_fault
from trainer.coaching.progress.proportions import Proportion
from trainer.coaching.progress.retention import Reminder, next_due, reminders
from trainer.coaching.progress.self_assessment import SelfAssessment, self_assessment_of
from trainer.coaching.progress.turns import TurnComparison, compare_turns
from trainer.domain.measures import with_unit
from trainer.domain.verdict import FaultName
from trainer.texts import tr

# What is compared between rehearsal and ball.
COMPARED = (
    "back_cm", "through_cm", "tempo_ratio", "hinge_change_deg", "head_turn_deg", "sway_cm", "look_after_s",
)  # fmt: skip


RUN_IN = 15  # strokes: a CUSUM may see a change this long before the EWMA does


@dataclass(frozen=True, slots=True)
class Compared:
    """One row of rehearsal against ball."""

    words: str
    comparison: TurnComparison


@dataclass(frozen=True, slots=True)
class RealChange:
    """The look's time after rest over all ball strokes, on a chart. numbers: index among the ball strokes of each value."""

    values: tuple[float, ...]
    days: tuple[date, ...]
    usual: Usual
    moving: Chart
    sums: Sums

    @property
    def latest(self) -> tuple[bool, date] | None:
        """(longer?, since when) if the chart is outside its band now; the date is CUSUM's, where it saw the change."""
        last = len(self.values) - 1
        point, low, high = self.moving.points[last], self.moving.low[last], self.moving.high[last]
        if low <= point <= high:
            return None
        up = point > high
        left = [c.at for c in self.moving.changes if c.up == up][-1]  # when the chart last left its band on this side
        began = [
            b for c, b in zip(self.sums.changes, self.sums.began, strict=True) if c.up == up and c.at >= left - RUN_IN
        ]
        return up, self.days[min([*began[:1], left])]


@dataclass(frozen=True, slots=True)
class Progress:
    """strokes: all, in order; without_fault: of the ball strokes, any fault; faults: (name, proportion of ball strokes),
    commonest first; lengths_apart, of pairs: ball strokes over 10 % off their rehearsal's length, where both were seen;
    work: the faults that are worked on, empty: none is; feedback: by these, or by all; too_close: ball strokes whose look was
    called neither early nor held, unjudged: all that could not be called so; the proportions leave them out; described:
    what has no norm, the latest session against those before; early: early looks before and after impact.
    """

    strokes: tuple[StrokeFacts, ...]
    sessions: tuple[Session, ...]
    without_fault: Proportion | None
    faults: tuple[tuple[str, Proportion], ...]
    feedback: ByFeedback
    compared: tuple[Compared, ...]
    lengths_apart: int
    pairs: int
    change: RealChange | None
    change_reason: str
    curve: LearningCurve | None
    curve_reason: str
    job: Job
    reminders: tuple[Reminder, ...]
    due: Reminder | None
    self_assessment: SelfAssessment | None = None
    too_close: int = 0
    described: tuple[Described, ...] = ()
    early: EarlyLooks | None = None
    work: tuple[FaultName, ...] = ()
    unjudged: int = 0

    def score(self, session: Session) -> Proportion | None:
        """Ball strokes without what is worked on; without any fault where nothing is."""
        return session.without(self.work) if self.work else session.share

    @property
    def ball_strokes(self) -> int:
        """All of them, called or not."""
        return sum(stroke.kind == "ball" for stroke in self.strokes)


def progress_of(
    strokes: Sequence[StrokeFacts], today: date, fault_names: Sequence[str], work: Sequence[FaultName] = ()
) -> Progress:
    """strokes: in order of time; fault_names: those that are judged for this student; work: what is worked on, else the job's."""
    ball = [s for s in strokes if s.kind == "ball"]
    sessions = sessions_of(strokes)
    week = job(strokes, _feedback(ball))
    work = tuple(work) or ((week.fault,) if week.fault is not None else ())
    names = work or None
    compared = []
    for measure in COMPARED:
        found = compare_turns(measure, sessions)
        if found is not None:
            compared.append(Compared(with_unit(measure), found))
    lengths = [lengths_apart((s.kind, s.measures.get("back_cm")) for s in session.strokes) for session in sessions]
    change, change_reason = _change(ball)
    medians = [statistics.median(v) for s in sessions if (v := s.values("look_after_s"))]
    curve, curve_reason = fit_curve(medians)
    faults = [(name, proportion) for name in fault_names if (proportion := with_fault(ball, name))]
    return Progress(
        tuple(strokes),
        tuple(sessions),
        without_fault(ball),
        tuple(sorted(faults, key=lambda f: -f[1].good)),
        _feedback(ball, names),
        tuple(compared),
        sum(abs(apart) > LENGTH_APART for one in lengths for _, apart in one),
        sum(len(one) for one in lengths),
        change,
        change_reason,
        curve,
        curve_reason,
        week,
        reminders(strokes),
        next_due(strokes, today),
        self_assessment_of([(s.felt, s.good) for s in ball if s.felt is not None and s.good is not None]),
        sum(s.too_close for s in ball),
        described(sessions),
        early_looks(ball),
        work,
        sum((s.good if names is None else s.without(names)) is None for s in ball),
    )


def _feedback(ball: Sequence[StrokeFacts], names: Sequence[str] | None = None) -> ByFeedback:
    told, silent = [s for s in ball if s.told], [s for s in ball if s.told is False]
    return by_feedback(without_fault(told, names), without_fault(silent, names))


def job_of(strokes: Sequence[StrokeFacts]) -> Job:
    """The week's job alone."""
    return job(strokes, _feedback([s for s in strokes if s.kind == "ball"]))


def _change(ball: Sequence[StrokeFacts]) -> tuple[RealChange | None, str]:
    seen = [(s.look_after_s, s.at.date()) for s in ball if s.look_after_s is not None]
    values, days = [v for v, _ in seen], [d for _, d in seen]
    usual = usual_of(values)
    if usual is None:
        return None, tr(
            "{number} ball strokes with a look so far; the first 20 make the usual level", number=len(values)
        )
    if len(values) == usual.count:
        return None, tr("the first 20 strokes make the usual level; the next ones are measured against it")
    return RealChange(tuple(values), tuple(days), usual, ewma(values, usual), cusum(values, usual)), ""


def best_and_typical(strokes: Sequence[StrokeFacts], recent: int = 50) -> list[tuple[str, int]]:
    """(words, stroke id) among the last ball strokes: the longest hold without fault, and the one nearest the middle."""
    last = [s for s in strokes if s.kind == "ball" and s.look_after_s is not None][-recent:]
    if not last:
        return []
    middle = statistics.median(s.look_after_s or 0.0 for s in last)
    typical = min(last, key=lambda s: abs((s.look_after_s or 0.0) - middle))
    good = [s for s in last if s.good]
    out = []
    if good:
        best = max(good, key=lambda s: s.look_after_s or 0.0)
        out.append((tr("Best"), best.stroke_id))
    out.append((tr("Typical"), typical.stroke_id))
    return out
