"""Homework: a drill, its dose and until when; and how far it was done, told by the strokes that were made. Pure."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Iterable, Literal, Mapping

from trainer.domain.record import Kind
from trainer.texts import tr, tr_count

WEEK_DAYS = 7
MOST_DAYS = 366
State = Literal["to come", "due", "done for today", "done for this week", "overdue", "done", "over", "dropped"]


@dataclass(frozen=True, slots=True)
class Homework:
    """drill: id; strokes: of one day; from_day, until: local, both counted in; who: set it; distance_m: None: not said."""

    uid: str
    drill: str
    strokes: int
    days_a_week: int
    from_day: date
    until: date
    set_at: datetime
    who: str = ""
    note: str = ""
    distance_m: float | None = None
    dropped_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class DrillStroke:
    """A stroke made in a drill. at: aware, in the zone whose days count."""

    at: datetime
    kind: Kind
    drill: str


@dataclass(frozen=True, slots=True)
class Week:
    """first, last: its days; wanted: days to practise in it; done: days on which the dose was made."""

    first: date
    last: date
    wanted: int
    done: int


@dataclass(frozen=True, slots=True)
class HomeworkProgress:
    """today: strokes made today; weeks: from its first day on, those begun; missed: days that cannot be made up any more."""

    homework: Homework
    state: State
    today: int
    weeks: tuple[Week, ...]
    missed: int

    @property
    def this_week(self) -> Week | None:
        return self.weeks[-1] if self.weeks else None

    @property
    def days_done(self) -> int:
        return sum(week.done for week in self.weeks)

    @property
    def asks(self) -> bool:
        """There is something to do today."""
        return self.state in ("due", "overdue")


def progress_of(
    homework: Homework, made: Iterable[DrillStroke], today: date, counted: Kind = "ball"
) -> HomeworkProgress:
    """counted: the kind of stroke that the drill is made of."""
    by_day = Counter(
        stroke.at.date()
        for stroke in made
        if stroke.drill == homework.drill and stroke.kind == counted and stroke.at >= homework.set_at
    )
    done = {day for day, strokes in by_day.items() if strokes >= homework.strokes}
    weeks = tuple(_weeks(homework, done, today))
    over = today > homework.until
    missed = sum(max(0, week.wanted - week.done) for week in (weeks if over else weeks[:-1]))
    if weeks and not over:
        now = weeks[-1]
        left = (now.last - today).days + (today not in done)
        missed += max(0, now.wanted - now.done - left)
    return HomeworkProgress(
        homework, _state(homework, weeks, today, today in done, missed), by_day[today], weeks, missed
    )


def _weeks(homework: Homework, done: set[date], today: date) -> Iterable[Week]:
    """Of seven days from the first one on; the last may be shorter, and asks for no more days than it has."""
    first = homework.from_day
    while first <= min(today, homework.until):
        last = min(first + timedelta(days=WEEK_DAYS - 1), homework.until)
        wanted = min(homework.days_a_week, (last - first).days + 1)
        yield Week(first, last, wanted, sum(first <= day <= last for day in done))
        first = last + timedelta(days=1)


def _state(homework: Homework, weeks: tuple[Week, ...], today: date, done_today: bool, missed: int) -> State:
    if homework.dropped_at is not None:
        return "dropped"
    if today > homework.until:
        return "over" if missed else "done"
    if not weeks:
        return "to come"
    if weeks[-1].done >= weeks[-1].wanted:
        return "done" if weeks[-1].last == homework.until and not missed else "done for this week"
    if done_today:
        return "done for today"
    return "overdue" if missed else "due"


# As it is read; the states themselves are English.
STATE_WORDS: Mapping[State, str] = {
    "to come": tr("to come"),
    "due": tr("due"),
    "done for today": tr("done for today"),
    "done for this week": tr("done for this week"),
    "overdue": tr("overdue"),
    "done": tr("done"),
    "over": tr("over"),
    "dropped": tr("dropped"),
}


def task_words(homework: Homework, drill_name: str) -> str:
    """What is to be done."""
    far = tr(" from {distance_m:g} m", distance_m=homework.distance_m) if homework.distance_m is not None else ""
    days = tr_count("{count} day a week", "{count} days a week", homework.days_a_week)
    return tr(
        "{drill_name}{far}, {strokes} strokes on {days} until {until}",
        drill_name=drill_name,
        far=far,
        strokes=homework.strokes,
        days=days,
        until=homework.until,
    )


def done_words(progress: HomeworkProgress) -> str:
    """How far it was done, in one line."""
    homework, week = progress.homework, progress.this_week
    if week is None:
        return tr("begins {from_day}", from_day=homework.from_day)
    missed = tr("; {days} missed", days=_days(progress.missed)) if progress.missed else ""
    if progress.state in ("done", "over", "dropped"):
        wanted = sum(week.wanted for week in progress.weeks)
        return tr(
            "{state}: {days_done} of {days}{missed}",
            state=STATE_WORDS[progress.state],
            days_done=progress.days_done,
            days=_days(wanted),
            missed=missed,
        )
    today = (
        tr(", today {today} of {strokes} strokes", today=progress.today, strokes=homework.strokes)
        if progress.asks or progress.today
        else ""
    )
    return tr(
        "{state}: this week {done} of {days}{today}{missed}",
        state=STATE_WORDS[progress.state],
        done=week.done,
        days=_days(week.wanted),
        today=today,
        missed=missed,
    )


def _days(count: int) -> str:
    return tr_count("{count} day", "{count} days", count)
