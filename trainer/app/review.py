"""Strokes again: opened from the record or from clips, arranged as asked for, and their numbers."""

from __future__ import annotations

from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Iterator

from trainer.app.context import Reporter, RunContext
from trainer.app.review_strokes import Against as Against
from trainer.app.review_strokes import Reading, from_clips, from_record
from trainer.app.review_strokes import StrokeNumber as StrokeNumber
from trainer.app.student_file import student_key
from trainer.errors import UsageError
from trainer.replay.align import PHASE
from trainer.replay.derived_signals import EVENT_WORDS
from trainer.replay.differences import Differing, compared
from trainer.replay.lines import LINE_NAMES as LINE_NAMES
from trainer.replay.numbers import NumberRow, numbers_of
from trainer.replay.playback import Playback
from trainer.replay.review_session import ReviewSession
from trainer.settings.model import Settings
from trainer.store.students import Students
from trainer.texts import tr
from trainer.worker import Progress

EVENTS = tuple(EVENT_WORDS.values())
Instant = str | float  # one of EVENTS, or seconds of the clip's own clock


@dataclass(frozen=True)
class Arrangement:
    """How it begins. align: the event two strokes are aligned on, or "phase"; lines: None as usual; at: None at the start."""

    align: str = "impact"
    lines: frozenset[str] | None = None
    ghost: bool = False
    close_up: bool = True
    at: Instant | None = None


@dataclass(frozen=True)
class ReviewRequest:
    """clips: none: the record's last session; second: the settings of the second clip, None as the first.

    recorded_fps: of clips in slow motion, how many frames a second were taken.
    """

    context: RunContext
    clips: tuple[Path, ...] = ()
    second: Settings | None = None
    student: str | None = None
    stroke: StrokeNumber | None = None
    against: Against | None = None
    arrangement: Arrangement = Arrangement()
    recorded_fps: float | None = None


@dataclass(frozen=True)
class ReviewNumbers:
    """At one instant, and of the stroke or of both. where: the instant in words; readings: (label, value).

    aligned: in words, and why this pair: empty without another stroke.
    """

    title: str
    where: str
    readings: tuple[tuple[str, str], ...]
    stroke: tuple[NumberRow, ...] = ()
    other_title: str = ""
    aligned: str = ""
    why: str = ""
    differences: tuple[Differing, ...] = ()


@contextmanager
def open_review(
    request: ReviewRequest, reporter: Reporter, progress: Progress | None = None
) -> Iterator[ReviewSession]:
    """Raises UsageError, ClipError, StoreError, and Stopped when ``progress`` says so."""
    context = request.context
    with ExitStack() as opened:
        if request.clips:
            settings = (context.settings, request.second or context.settings)
            reading = Reading(reporter, progress or Progress(), request.recorded_fps)
            choice = from_clips(settings, request.clips, request.stroke, request.against, reading)
        else:
            store = opened.enter_context(context.open_store_to_read())
            student = request.student
            key = student_key(Students(context.base).find(student)) if student is not None else None
            choice = from_record(context, store, key, request.stroke, request.against)
        session = ReviewSession(choice, request.arrangement.align)
        opened.callback(session.close)
        _arrange(session.playback, request.arrangement)
        yield session


def _arrange(playback: Playback, arrangement: Arrangement) -> None:
    if arrangement.lines is not None:
        playback.show = set(arrangement.lines)
    if arrangement.ghost:
        playback.layout = "ghost"
    playback.close_up = arrangement.close_up
    if arrangement.at is not None:
        playback.scrub(instant_s(playback, arrangement.at, "--at"))


def instant_s(playback: Playback, instant: Instant, option: str) -> float:
    """On the main stroke's clock. option: for the error. Raises UsageError."""
    if isinstance(instant, str):
        at = playback.main.tracked.event_s(instant)
        if at is None:
            raise UsageError(
                tr("{instant} was not seen in this stroke", instant=instant), option, tr("choose another instant")
            )
        return at
    times = playback.main.stroke_clip.frames.times_s
    if not float(times[0]) <= instant <= float(times[-1]):
        raise UsageError(
            tr("{instant:g} s is outside of it", instant=instant),
            option,
            tr("it goes from {times:.2f} to {times2:.2f} s", times=times[0], times2=times[-1]),
        )
    return instant


def span_s(playback: Playback, begin: Instant | None, end: Instant | None) -> tuple[float, float] | None:
    """From one instant to another; None when neither is given. Raises UsageError."""
    if begin is None and end is None:
        return None
    times = playback.main.stroke_clip.frames.times_s
    return (
        float(times[playback.first]) if begin is None else instant_s(playback, begin, "--from"),
        float(times[playback.last]) if end is None else instant_s(playback, end, "--to"),
    )


def numbers(session: ReviewSession) -> ReviewNumbers:
    """At the instant shown."""
    playback, main = session.playback, session.playback.main
    sample = main.tracked.sample(playback.shown_s)
    readings = main.tracked.readings(sample)
    if main.tracked.face_on:
        readings.append(main.tracked.past_leg(sample))
    read = tuple((reading.label, reading.text) for reading in readings)
    title, where, record = session.main.title, playback.where, main.stroke_clip.record
    if playback.other is None or session.other is None:
        return ReviewNumbers(title, where, read, tuple(numbers_of(record, main.stroke_clip.faults)))
    aligned = tr("by phase") if playback.aligned_on == PHASE else tr("on {aligned_on}", aligned_on=playback.aligned_on)
    differences = compared(record, playback.other.stroke_clip.record, session.own_measures())
    return ReviewNumbers(title, where, read, (), session.other.title, aligned, session.why, differences)
