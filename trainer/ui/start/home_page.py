"""The one page that all comes back to, and who is practising."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Callable

from trainer.domain.printable import printable
from trainer.errors import TrainerError
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.page import Button, Buttons, Column, Columns, Goes, Next, Opens, Page, Words


def home_page(desk: StartDesk) -> Page:
    """Who; the one large way on; beside it everything else."""
    from trainer.app.start.home import home

    try:
        found = home(desk.own(), desk.student)
    except TrainerError as error:  # the student's file, or the record: others may be sound, and settings too
        found, fault = home(desk.context(None), None), error.line()
    else:
        fault = ""
    who = printable(found.student) if found.student is not None else texts.NOBODY
    large = Button(found.due.what, lambda _: _practise(desk, found.due.drill), found.due.why, look="large")
    lesson = texts.LESSON_ON if found.lesson else texts.LESSON
    return Page(
        who,
        (*((Words(fault),) if fault else ()), Buttons((large,), columns=1), Columns(_columns(desk, lesson))),
        beside=(Button(texts.SWITCH, _opens(desk, "first_pages", "students_page")),),
        home=True,
        on_drop=lambda path: _dropped(desk, Path(path)),
    )


def _opens(desk: StartDesk, module: str, name: str) -> Callable[[Any], Next]:
    """Opens a page whose code is loaded when it is wanted."""
    from importlib import import_module

    def make() -> Page:
        page: Page = getattr(import_module(f"trainer.ui.start.{module}"), name)(desk)
        return page

    return lambda _: Opens(make)


def _columns(desk: StartDesk, lesson: str) -> tuple[Column, ...]:
    practise = (
        Button(texts.DRILLS, _opens(desk, "practice_pages", "drills_page")),
        Button(texts.FREE, lambda _: _practise(desk, None)),
        Button(texts.HOMEWORK, _opens(desk, "teaching_pages", "homework_page")),
        Button(lesson, _opens(desk, "teaching_pages", "lesson_page")),
        Button(texts.BEFORE_PLAY, _opens(desk, "practice_pages", "before_play_page")),
    )
    look = (
        Button(texts.AGAIN, _opens(desk, "stroke_pages", "strokes_page")),
        Button(texts.PROGRESS, _opens(desk, "stroke_pages", "progress_page")),
        Button(texts.POSTURE, _opens(desk, "body_pages", "posture_page")),
        Button(texts.REASONS, _opens(desk, "body_pages", "reasons_page")),
        Button(texts.DISTANCE, _opens(desk, "distance_pages", "distance_page")),
    )
    coach = (
        Button(texts.ROUND, _opens(desk, "coach_pages", "round_page")),
        Button(texts.LIMITS, lambda _: _limits(desk)),
        Button(texts.BASELINE, _opens(desk, "coach_pages", "baseline_page")),
        Button(texts.TRANSFER, _opens(desk, "coach_pages", "transfer_page")),
        Button(texts.ERASE, _opens(desk, "coach_pages", "erase_page")),
    )
    machine = (
        Button(texts.SETUP, lambda _: _setup(desk)),
        Button(texts.CHECK, _opens(desk, "machine_pages", "check_page")),
        Button(texts.CLIP, _opens(desk, "machine_pages", "clip_page")),
        Button(texts.SETTINGS, _opens(desk, "machine_pages", "settings_page")),
        Button(texts.DEMO, lambda _: _demo(desk)),
    )
    return (
        Column(texts.PRACTISE, practise),
        Column(texts.LOOK, look),
        Column(texts.COACH, coach),
        Column(texts.SET_UP, machine),
    )


def _practise(desk: StartDesk, drill: str | None) -> Next:
    from trainer.ui.start.practice_pages import practise_drill

    return practise_drill(desk, drill)


def _limits(desk: StartDesk) -> Next:
    from trainer.ui.start.coach_pages import limits

    return limits(desk)


def _setup(desk: StartDesk) -> Next:
    from trainer.ui.start.machine_pages import setup

    result = setup(desk)
    return Goes("stay", result.words, wrong=not result.done)


def _demo(desk: StartDesk) -> Next:
    from trainer.ui.start.practice_pages import demo

    return demo(desk)


def _dropped(desk: StartDesk, path: Path) -> Next:
    """A file dropped on the window: an export file is taken in, anything else is judged as a clip."""
    from trainer.app.transfer import SUFFIX

    if path.name.endswith(SUFFIX):
        from trainer.ui.start.coach_pages import take_in

        return take_in(desk, path)
    from trainer.ui.start.machine_pages import judge_clip

    return judge_clip(desk, path)
