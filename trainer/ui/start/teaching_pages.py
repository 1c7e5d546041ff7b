"""Homework and the lesson as pages of the start window."""

from __future__ import annotations

from typing import Any, Callable

from trainer.app.lesson_length import STROKES
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.texts import tr
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.page import Button, Buttons, Choice, Element, Field, Goes, Next, Opens, Page, Words
from trainer.ui.start.practice_pages import FIRST_DRILL, number_in, practise, practise_drill


def homework_page(desk: StartDesk) -> Page:
    """What was set, with what was done; what is due begins with one press."""
    from trainer.app.homework import drop_homework, show_homework

    whose = desk.whose()
    _, lines = show_homework(desk.own(), whose)
    open_lines = [line for line in lines if line.stands]

    def begin(line: Any) -> Button:
        drill = line.progress.homework.drill
        look: Any = "large" if line.progress.asks else "plain"
        return Button(
            tr("{begin}: {task}", begin=texts.BEGIN, task=line.task),
            lambda _: practise_drill(desk, drill),
            line.done,
            look,
        )

    def drop(line: Any) -> Button:
        def act(_: Any) -> Next:
            done = drop_homework(desk.own(), whose, line.number)
            return Goes("stay", texts.DROPPED.format(task=done.task))

        words = texts.DROP_IT if len(open_lines) == 1 else texts.DROP.format(task=line.task)
        return Button(words, act, look="row")

    body: list[Element] = [Buttons(tuple(map(begin, open_lines)), columns=1)] if open_lines else []
    if not open_lines:
        body.append(Words(texts.NO_HOMEWORK))
    alone = len(lines) == 1  # its task stands above
    for line in lines:
        if note := printable(line.progress.homework.note):
            body.append(Words(note if alone else tr("{task}: {note}", task=line.task, note=note), "soft"))
    body.append(Buttons((Button(texts.SET_HOMEWORK, lambda _: Opens(lambda: set_homework_page(desk))),)))
    body.append(Buttons(tuple(map(drop, open_lines)), columns=1))
    body += [Words(tr("{task}; {done}", task=line.task, done=line.done), "soft") for line in lines if not line.stands]
    return Page(tr("{whose}: {lower}", whose=printable(whose), lower=texts.HOMEWORK.lower()), tuple(body))


def set_homework_page(desk: StartDesk, in_lesson: bool = False) -> Page:
    """in_lesson: it is tied to the lesson's page."""
    from trainer.app.drills import list_drills
    from trainer.app.start.home import home

    due = home(desk.own(), desk.student).due.drill
    drills = sorted(list_drills(desk.own().base).drills, key=lambda one: one.drill_id != (due or FIRST_DRILL))

    def act(values: Any) -> Next:
        from trainer.app.homework import HomeworkRequest, set_homework
        from trainer.app.lesson import give_homework

        request = HomeworkRequest(
            desk.whose(),
            values["drill"],
            _whole(values["strokes"], texts.STROKES_A_DAY, 1, 200),
            int(values["days"]),
            distance_m=number_in(values["distance"], texts.DISTANCE_M),
            who=values["who"].strip(),
            note=values["note"].strip(),
        )
        line = (give_homework if in_lesson else set_homework)(desk.own(), request)
        return Goes("back", texts.HOMEWORK_IS.format(number=line.number, task=line.task))

    body = (
        Choice("drill", texts.DRILL, tuple((d.drill_id, d.head.name) for d in drills), drills[0].drill_id),
        Choice("days", texts.DAYS, tuple((str(n), str(n)) for n in range(1, 8)), "4"),
        Field("strokes", texts.STROKES_A_DAY),
        Field("distance", texts.DISTANCE_M),
        Field("who", texts.BY, most=60),
        Field("note", texts.NOTE),
        Words(texts.HOMEWORK_EMPTY, "soft"),
    )
    return Page(texts.SET_HOMEWORK, body, foot=(Button(texts.SAVE, act, look="main"),))


def _whole(text: str, label: str, low: int, high: int) -> int | None:
    value = number_in(text, label)
    if value is None:
        return None
    if value != int(value) or not low <= value <= high:
        raise UsageError(
            tr("{strip} is not a whole number from {low} to {high}", strip=text.strip(), low=low, high=high), label
        )
    return int(value)


def lesson_page(desk: StartDesk) -> Page:
    """How it stands and its steps, in order."""
    from trainer.app.lesson import LessonDesk
    from trainer.app.lesson_words import lesson_lines

    context = desk.own()
    with context.open_store() as store:
        at = LessonDesk(context, store, desk.whose())
        under_way = at.open()
        view = at.view(under_way) if under_way is not None else None
    title = tr("{whose}: {lower}", whose=printable(desk.whose()), lower=texts.LESSON.lower())
    if view is None:
        begin = Button(
            texts.BEGIN_LESSON, _step(desk, lambda at, values: at.begin(values["who"].strip())), look="large"
        )
        body: tuple[Element, ...] = (
            Words(texts.NO_LESSON),
            Field("who", texts.BY, most=60),
            Buttons((begin,), columns=1),
        )
        return Page(title, body)
    strokes = Button(texts.LESSON_STROKES, lambda _: lesson_strokes(desk), look="large")
    proposed = Button(texts.LESSON_AS_PROPOSED, _step(desk, lambda at, values: at.choose(None, values["why"].strip())))
    chosen = Button(
        texts.LESSON_CHOOSE, _step(desk, lambda at, values: at.choose(values["about"], values["why"].strip()))
    )
    note = Button(texts.LESSON_NOTE_TRY, _step(desk, lambda at, values: at.note_try(values["try"], False, None)))
    say = Button(texts.LESSON_KEEP_WORDS, _step(desk, lambda at, values: at.say(values["words"])))
    homework = Button(texts.SET_HOMEWORK, lambda _: Opens(lambda: set_homework_page(desk, in_lesson=True)))
    write = Button(texts.LESSON_PAGE, lambda _: _write_page(desk))
    end = Button(texts.END_LESSON, _step(desk, lambda at, _: at.end()))
    body = (
        *(Words(line) for line in lesson_lines(view)),
        Buttons((strokes,), columns=1),
        Field("about", texts.LESSON_ABOUT),
        Field("why", texts.LESSON_WHY),
        Buttons((proposed, chosen)),
        Field("try", texts.LESSON_TRY),
        Field("words", texts.LESSON_SAY, view.lesson.words),
        Buttons((note, say, homework, write, end)),
    )
    return Page(title, body)


def _step(desk: StartDesk, work: Callable[[Any, Any], object]) -> Any:
    """One step at the student's desk; then how it stands."""

    def act(values: Any) -> Next:
        from trainer.app.lesson import LessonDesk

        context = desk.own()
        with context.open_store() as store:
            work(LessonDesk(context, store, desk.whose()), values)
        return Opens(lambda: lesson_page(desk), over=1)

    return act


def lesson_strokes(desk: StartDesk) -> Next:
    """As the command `lesson strokes`: without feedback, and it ends by itself."""
    from trainer.app.lesson import LessonDesk
    from trainer.app.practice.practice import PracticeRequest

    context, whose = desk.own(), desk.whose()
    with context.open_store() as store:
        LessonDesk(context, store, whose).under_way()
    outcome = practise(desk, PracticeRequest(strokes=STROKES), feedback__schedule="silent")
    if outcome.session is not None:
        with context.open_store() as store:
            LessonDesk(context, store, whose).strokes_made(outcome.session)
    told = desk.reporter.take()
    if outcome.failure is not None:
        raise outcome.failure
    return Goes("stay", told[-1] if told else "")


def _write_page(desk: StartDesk) -> Next:
    from trainer.app.lesson_page import write_lesson_page

    context, whose = desk.own(), desk.whose()
    path = desk.run(texts.LESSON_PAGE, lambda _: write_lesson_page(context, whose, None, None, desk.saving))
    desk.show(path)
    return Goes("stay", texts.WROTE.format(path=path))
