"""Where `review` has its strokes from: the record, or clips that are judged now."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import count
from pathlib import Path
from typing import Callable, Literal, Sequence

from trainer.app.clock import today
from trainer.app.context import Reporter, RunContext
from trainer.app.visibility import OWN_OPTIONS
from trainer.domain.naming import StrokeNumber as StrokeNumber
from trainer.domain.naming import stroke_name
from trainer.domain.observation import Handedness
from trainer.domain.record import StrokeRecord
from trainer.errors import UsageError
from trainer.live.pipeline import Finished
from trainer.replay.best_stroke import best_of
from trainer.replay.clip_reader import Reader
from trainer.replay.differences import Measures
from trainer.replay.pair_suggestion import propose
from trainer.replay.review_session import Choice, Entry, Lookups
from trainer.replay.stroke_clip import StrokeClip, stretch_s
from trainer.settings.model import Settings
from trainer.store.history import StudentKey, judgeable, records_of
from trainer.store.sessions import MANY, SessionRows, StrokeRow, sessions
from trainer.store.store import Store
from trainer.texts import tr
from trainer.worker import Progress

BEST, PAIR = "best", "pair"
OTHER_OPTIONS = ("--other-handedness", "--other-view")  # of the second clip
BEST_WHY = tr("beside it: the best so far")
OWN_STROKES = 60  # of a student's newest strokes, for the spread from stroke to stroke
BEST_OF = 300  # strokes among which the best is looked for


Against = StrokeNumber | Literal["best", "pair"]


# ---- the record


def from_record(
    context: RunContext,
    store: Store,
    student_key: StudentKey | None,
    stroke: StrokeNumber | None = None,
    against: Against | None = None,
) -> Choice:
    """Raises UsageError, StoreError."""
    where = student_key.player if student_key is not None else str(context.folder)
    numbers = [number for number in (stroke, against) if isinstance(number, StrokeNumber)]
    rows = sessions(store, max([1, *(number.session_back for number in numbers)]), student_key)
    if not rows:
        raise UsageError(tr("no strokes on record yet"), where, tr("`practice` makes some, or give a clip"))
    session = _session(rows, stroke.session_back if stroke is not None else 1, where)
    entries = {row.stroke_id: _stored(context, store, session, k) for k, row in enumerate(session.strokes)}
    last = session.strokes[-1].stroke_id
    main = entries[_stroke(session, stroke.number).stroke_id if stroke is not None else last]
    player = StudentKey(session.student, session.player)
    lookups = _stored_lookups(context, store, player, entries)
    if against == PAIR:
        return _with_pair(tuple(entries.values()), lookups, where)
    other: Entry | None = None
    why = ""
    if against == BEST:
        other, why = lookups.best(), BEST_WHY
        if other is None:
            raise UsageError(
                tr("no ball stroke was held without fault yet"), where, tr("choose one with --against NUMBER")
            )
    elif isinstance(against, StrokeNumber):
        theirs = _session(rows, against.session_back, where)
        row = _stroke(theirs, against.number)
        other = entries.get(row.stroke_id) or _stored(context, store, theirs, theirs.strokes.index(row))
    if other is main:
        raise UsageError(tr("a stroke against itself"), "--against", tr("choose another one"))
    return Choice(tuple(entries.values()), main, other, why, lookups)


def _session(rows: Sequence[SessionRows], back: int, where: str) -> SessionRows:
    if back > len(rows):
        raise UsageError(
            tr("there is no session {back} with strokes, counted back from the last", back=back),
            where,
            tr("there are {number}", number=len(rows)),
        )
    return rows[back - 1]


def _stroke(session: SessionRows, number: int) -> StrokeRow:
    row = next((row for row in session.strokes if row.number == number), None)
    if row is None:
        last = session.strokes[-1].number
        raise UsageError(
            tr("there is no stroke {number} in that session", number=number),
            session.player,
            tr("it has 1 to {last}", last=last),
        )
    return row


def _stored(context: RunContext, store: Store, session: SessionRows, place: int) -> Entry:
    row = session.strokes[place]
    name = stroke_name(session.started_at, row.number, today())

    def opened() -> StrokeClip:
        from trainer.replay.retention import stored_shot

        stroke_clip = stored_shot(store, context.base, row.stroke_id)
        return replace(stroke_clip, label=name, student=session.player)

    return Entry(name, row.kind, opened)


def _stored_lookups(context: RunContext, store: Store, player: StudentKey, entries: dict[int, Entry]) -> Lookups:
    limits = context.settings.limits

    @lru_cache(maxsize=1)
    def own() -> Sequence[Measures]:
        return [record.measures for _, record in judgeable(store, player, OWN_STROKES)]

    @lru_cache(maxsize=1)
    def pair() -> tuple[Entry, Entry, str] | None:
        ids = list(entries)
        return _suggested(list(entries.values()), [record for _, record in records_of(store, ids)])

    @lru_cache(maxsize=1)
    def best() -> Entry | None:
        stroke_id = best_of(judgeable(store, player, BEST_OF), limits)
        if stroke_id is None or stroke_id in entries:
            return entries.get(stroke_id) if stroke_id is not None else None
        for rows in sessions(store, MANY, player):
            for place, row in enumerate(rows.strokes):
                if row.stroke_id == stroke_id:
                    return _stored(context, store, rows, place)
        return None

    return Lookups(own, pair, best)


def _suggested(entries: Sequence[Entry], records: Sequence[StrokeRecord]) -> tuple[Entry, Entry, str] | None:
    if len(records) != len(entries):  # one that is damaged was left out: their places no longer agree
        return None
    proposal = propose(records, [entry.name for entry in entries])
    return (entries[proposal.first], entries[proposal.second], proposal.why) if proposal is not None else None


def _with_pair(entries: tuple[Entry, ...], lookups: Lookups, where: str) -> Choice:
    pair = lookups.pair()
    if pair is None:
        todo = tr("choose two with --stroke and --against")
        raise UsageError(tr("no rehearsal and ball stroke differ by more than the measuring varies"), where, todo)
    return Choice(entries, *pair, lookups)


# ---- clips


@dataclass(frozen=True)
class Reading:
    """How clips are read. recorded_fps: of slow motion, None: as they say."""

    reporter: Reporter
    progress: Progress
    recorded_fps: float | None = None


def from_clips(
    settings: Sequence[Settings],
    clips: Sequence[Path],
    stroke: StrokeNumber | None,
    against: Against | None,
    reading: Reading,
) -> Choice:
    """One clip: its strokes; two: a stroke of each side by side. settings: of the first clip and of the second.

    Raises UsageError, ClipError, Stopped.
    """
    if len(clips) > 2:
        raise UsageError(tr("{number} clips", number=len(clips)), "review", tr("give one, or two to compare"))
    strokes = [
        clip_entries(path, own, reading, names)
        for path, own, names in zip(clips, settings, (OWN_OPTIONS, OTHER_OPTIONS), strict=False)
    ]
    first, pool = strokes[0][0], strokes[-1][0]
    lookups = _clip_lookups([e for s in strokes for e in s[0]], [r for s in strokes for r in s[1]], settings[0])
    every = tuple(e for s in strokes for e in s[0])
    if against == PAIR:
        return _with_pair(every, lookups, clips[0].name)
    main = _nth(first, stroke, clips[0])
    other: Entry | None = None
    why = ""
    if against == BEST:
        other, why = lookups.best(), BEST_WHY
        if other is None:
            raise UsageError(
                tr("no ball stroke in it was held without fault"), clips[0].name, tr("use --against NUMBER")
            )
    elif against is not None or len(strokes) > 1:
        other = _nth(pool, against if isinstance(against, StrokeNumber) else None, clips[-1])
    if other is main:
        raise UsageError(tr("a stroke against itself"), "--against", tr("choose another one"))
    return Choice(every, main, other, why, lookups)


def _nth(entries: Sequence[Entry], stroke: StrokeNumber | None, path: Path) -> Entry:
    number = stroke.number if stroke is not None else 1
    if number > len(entries):
        raise UsageError(
            tr("there is no stroke {number}", number=number), path.name, tr("it has {number}", number=len(entries))
        )
    return entries[number - 1]


def _clip_lookups(entries: Sequence[Entry], records: Sequence[StrokeRecord], settings: Settings) -> Lookups:
    return Lookups(
        lambda: [r.measures for r in records],
        lambda: _suggested(entries, records),
        lambda: best_of(zip(entries, records, strict=True), settings.limits),
    )


def clip_entries(
    path: Path, settings: Settings, reading: Reading, option_names: tuple[str, str] = OWN_OPTIONS
) -> tuple[list[Entry], list[StrokeRecord]]:
    """The strokes of a clip, judged now. option_names: those that say its hand and its view. Raises ClipError, Stopped, and
    UsageError when there is none in it."""
    from trainer.app import build
    from trainer.app.analyse import watch
    from trainer.vision.sources.clip import Clip

    reporter, progress = reading.reporter, reading.progress
    clip = Clip(path, recorded_fps=reading.recorded_fps)
    words = tr("Reading {name}", name=path.name)
    progress.tell(None, words)
    with clip:
        reporter.warn(words)
        observer = build.observer(settings, aside=True)
        try:
            step = _telling(progress, clip.frames_said)
            guarded = build.guarded(observer)
            watched = watch(clip, build.pipeline(settings, guarded), tick=step)
        finally:
            observer.close()
    for line in (*clip.notices(), *([watched.error.line()] if watched.error is not None else [])):
        reporter.warn(line)
    if not watched.strokes:
        raise UsageError(watched.seen.no_stroke(settings, option_names=option_names), str(path))
    entries = []
    for stroke in watched.strokes:
        name = tr("{name}, stroke {number}", name=path.name, number=stroke.number)
        reader = Reader(path, recorded_fps=reading.recorded_fps)
        opener = _opener(reader, settings.player.handedness, stroke, name, watched.times_s)
        entries.append(Entry(name, stroke.record.kind, opener))
    return entries, [stroke.record for stroke in watched.strokes]


def _telling(progress: Progress, frames: int | None) -> Callable[[], None]:
    """Called at each frame of so many, None: nobody knows."""
    done = count()
    return lambda: progress.tell(min(1.0, (next(done) + 1) / frames) if frames else None)


def _opener(
    reader: Reader, handedness: Handedness, stroke: Finished, name: str, times_s: Sequence[float]
) -> Callable[[], StrokeClip]:
    def opened() -> StrokeClip:
        from trainer.replay.clip_frames import ClipFrames

        record, verdict = stroke.record, stroke.verdict
        frames = ClipFrames(reader.path, times_s, stretch_s(record), reader=reader).start()
        return StrokeClip(
            record,
            frames,
            verdict.limits,
            name,
            handedness=handedness,
            faults=verdict.faults,
            cues=stroke.cues,
            too_close=verdict.too_close,
        )

    return opened
