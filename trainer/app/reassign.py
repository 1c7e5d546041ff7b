"""Strokes under a wrong name: given to another student, or taken out of the record."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.app.clock import now, today
from trainer.app.context import RunContext
from trainer.app.student_file import student_key, with_id
from trainer.domain.naming import NAMELESS, StrokeNumber, folded, moment_words, stroke_name
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.store.history import StudentKey
from trainer.store.ownership import adopt
from trainer.store.reassign import give, is_on_record, take_out, uids_of, with_other_camera
from trainer.store.sessions import MANY, SessionRows, StrokeRow, sessions
from trainer.store.store import Store
from trainer.store.students import Students
from trainer.store.video import forget, move_videos, stroke_videos
from trainer.texts import join, tr, tr_count, tr_of

NOBODY = "-"  # as `strokes` lists strokes without a name
MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class Session:
    """A whole session. back: counted from the last one, which is 1."""

    back: int

    def __str__(self) -> str:
        return f"{self.back}/all"


Choice = StrokeNumber | Session


@dataclass(frozen=True, slots=True)
class OnRecord:
    """By the record's own numbers, which stay when other strokes come or go. stroke: None: all of the session."""

    session: int
    stroke: int | None = None


@dataclass(frozen=True, slots=True)
class StrokesOf:
    """Strokes found but not touched. listed: in words; whose: the name as it may be printed."""

    key: StudentKey
    whose: str
    ids: tuple[int, ...]
    listed: str

    @property
    def nameless(self) -> bool:
        """Recorded without a name."""
        return not self.key.student and self.key.player == NAMELESS


def find_strokes(context: RunContext, name: str, choices: Sequence[Choice]) -> StrokesOf:
    """Of a student, a name on record, or "-": nobody; the latter two are counted among everybody's sessions, as `strokes`
    lists them. Raises UsageError for what does not exist.
    """
    with context.open_store() as store:
        key = _whose(context, store, name)
        found: dict[int, str] = {}
        for choice in choices:
            chosen = _chosen(store, key, choice)
            if not chosen:
                what = tr("no stroke {which} of {name}", which=choice, name=printable(name))
                raise UsageError(what, str(context.folder), tr("`strokes` lists them"))
            found |= chosen
        return _strokes_of(store, key, found)


def find_on_record(context: RunContext, chosen: OnRecord) -> StrokesOf:
    """Of whoever the context is of. Raises UsageError where they are not on record as that one's (any more)."""
    player = context.settings.player.name
    with context.open_store() as store:
        key = _whose(context, store, NOBODY if player == NAMELESS else player)
        found = _chosen(store, key, chosen)
        if not found:
            what = tr("this is no longer on record under {name}", name=_called(key))
            raise UsageError(what, "", tr("`strokes` lists them"))
        return _strokes_of(store, key, found)


def others_to_give_to(context: RunContext, found: StrokesOf) -> list[str]:
    """Names of students. One whose file cannot be used is left out."""
    return [one.name for one in Students(context.base).all()[0] if not one.card.id or one.card.id != found.key.student]


def _strokes_of(store: Store, key: StudentKey, found: dict[int, str]) -> StrokesOf:
    """found: as ``_chosen`` gives them."""
    ids = with_other_camera(store, key, list(found))
    many = tr_count("{count} stroke", "{count} strokes", len(ids))
    names = list(dict.fromkeys(found.values()))
    more = tr(" and others") if len(names) > MOST_NAMED else ""
    listed = tr("{many} ({names}{more})", many=many, names=join("; ", names[:MOST_NAMED]), more=more)
    return StrokesOf(key, _called(key), tuple(ids), listed)


def _called(key: StudentKey) -> str:
    return printable(key.player) if key.student or key.player != NAMELESS else tr_of("of whom", "nobody")


def _whose(context: RunContext, store: Store, name: str) -> StudentKey:
    students = Students(context.base)
    try:
        student = with_id(students, students.find(name))
    except UsageError:
        player = NAMELESS if name == NOBODY else name
        if name == NOBODY or is_on_record(store, player):
            return StudentKey("", player)
        raise
    key = student_key(student)
    adopt(store, key)
    return key


def _chosen(store: Store, key: StudentKey, choice: Choice | OnRecord) -> dict[int, str]:
    """Id -> its name, or the session's where all of it was asked for; empty: there is none of theirs."""
    day = today()
    out = {}
    whole = isinstance(choice, Session) or (isinstance(choice, OnRecord) and choice.stroke is None)
    for back, session in enumerate(sessions(store, MANY, key if key.student else None), 1):
        theirs = session.student == key.student and (key.student or folded(session.player) == folded(key.player))
        if not theirs or not _is_session(choice, back, session):
            continue
        for stroke in session.strokes:
            if whole:
                out[stroke.stroke_id] = moment_words(session.started_at, day)
            elif _is_stroke(choice, stroke):
                out[stroke.stroke_id] = stroke_name(session.started_at, stroke.number, day)
    return out


def _is_session(choice: Choice | OnRecord, back: int, session: SessionRows) -> bool:
    if isinstance(choice, OnRecord):
        return session.session_id == choice.session
    return back == (choice.back if isinstance(choice, Session) else choice.session_back)


def _is_stroke(choice: Choice | OnRecord, stroke: StrokeRow) -> bool:
    if isinstance(choice, OnRecord):
        return stroke.stroke_id == choice.stroke
    return isinstance(choice, StrokeNumber) and stroke.number == choice.number


def give_strokes(context: RunContext, found: StrokesOf, to: str) -> str:
    """A line that says what was done. Raises UsageError, StoreError."""
    students = Students(context.base)
    student = with_id(students, students.find(to))
    key = student_key(student)
    if key.student == found.key.student:
        raise UsageError(
            tr("the strokes are of {name} already", name=printable(student.name)), "--to", tr("name another")
        )
    with context.open_store() as store:
        adopt(store, key)
        uids = uids_of(store, found.ids)
        give(store, found.ids, key)
    move_videos(context.base, uids, found.key.student, key.student)
    return tr("{listed} of {name}: now of {to}", listed=found.listed, name=found.whose, to=printable(student.name))


def take_out_strokes(context: RunContext, found: StrokesOf) -> str:
    """A line that says what was done. Raises StoreError."""
    with context.open_store() as store:
        forget(stroke_videos(context.base, uids_of(store, found.ids), found.key.student))
        take_out(store, found.ids, found.key, now())
    return tr("{listed} of {name}: taken out of the record", listed=found.listed, name=found.whose)
