"""The page of a lesson to take home."""

from __future__ import annotations

import statistics
from pathlib import Path
from typing import Sequence

from trainer.app.context import RunContext
from trainer.app.drills import drill_named
from trainer.app.lesson import LessonDesk, LessonView
from trainer.app.page_file import check_page
from trainer.coaching.progress.facts import StrokeFacts
from trainer.coaching.reasons.card import Card
from trainer.coaching.reasons.find import card_named, card_of_drill
from trainer.domain.printable import printable
from trainer.domain.record import StrokeRecord
from trainer.errors import SettingsError, StoreError
from trainer.output import PAGE, write_output
from trainer.report.lesson_page import LessonContent, Shown, lesson_page
from trainer.store.store import Store
from trainer.store.students import file_name


def write_lesson_page(
    context: RunContext, student: str, number: int | None, out: Path | None, folder: Path = Path()
) -> Path:
    """out: None: named after student and day in the folder, else in this one; number: of the lesson, None: the newest.
    Returns where it is.
    """
    if out is not None:
        check_page(out)
    with context.open_store() as store:
        desk = LessonDesk(context, store, student)
        view = desk.view(desk.chosen(number))
        text = lesson_page(_content(context, store, desk, view))
    day = view.lesson.begun_at.astimezone().date()
    named = file_name(view.student.name, view.student.card.id).removesuffix(".toml")
    path = out or folder / f"{named}-lesson-{day:%Y%m%d}.html"
    write_output(path, text.encode("utf-8"), PAGE, context.base)
    return path


def _content(context: RunContext, store: Store, desk: LessonDesk, view: LessonView) -> LessonContent:
    lesson = view.lesson
    records = [_typical(store, some) for some in (view.before, view.after)]
    tries = []
    for one in lesson.tries:
        picture = desk.picture(one.picture) if one.picture is not None else None
        image = picture.image_path.read_bytes() if picture is not None and picture.image_path.is_file() else None
        record = _record(store, one.stroke) if one.stroke is not None else None
        tries.append(Shown(one.note, record, image))
    return LessonContent(
        printable(view.student.name),
        lesson,
        lesson.begun_at.astimezone().date(),
        view.about,
        view.later,
        view.outcome,
        (len(view.before), len(view.after)),
        records[0],
        records[1],
        tuple(tries),
        (view.homework.task, view.homework.done) if view.homework is not None else None,
        _card(context, view),
    )


def _typical(store: Store, strokes: Sequence[StrokeFacts]) -> StrokeRecord | None:
    """The stroke nearest the middle of when the look came; any, where no look was seen."""
    if not strokes:
        return None
    seen = [s for s in strokes if s.look_after_s is not None]
    if not seen:
        return _read(store, strokes[0].stroke_id)
    middle = statistics.median(s.look_after_s or 0.0 for s in seen)
    return _read(store, min(seen, key=lambda s: abs((s.look_after_s or 0.0) - middle)).stroke_id)


def _record(store: Store, uid: str) -> StrokeRecord | None:
    with store.reading() as db:
        row = db.execute("SELECT id FROM strokes WHERE uid = ?", (uid,)).fetchone()
    return None if row is None else _read(store, int(row[0]))


def _read(store: Store, stroke_id: int) -> StrokeRecord | None:
    try:
        return store.stroke(stroke_id).record
    except StoreError:  # damaged signals: the rest of the page is still good
        return None


def _card(context: RunContext, view: LessonView) -> Card | None:
    """What to try: of the homework's drill, else of what the lesson was about."""
    if view.homework is not None:
        try:
            found = card_of_drill(drill_named(context.base, view.homework.progress.homework.drill))
        except SettingsError:  # a drill of the coach's own that is gone
            found = None
        if found is not None:
            return found
    return card_named(view.lesson.priority) if view.lesson.priority is not None else None
