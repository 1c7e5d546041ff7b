"""Two students who are one person made one, as pages of the start window."""

from __future__ import annotations

from typing import Any

from trainer.domain.printable import printable
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.first_pages import recorded_note
from trainer.ui.start.page import Button, Buttons, Goes, Next, Opens, Page, Words
from trainer.ui.start.wrong_name_pages import done_page


def who_else_page(desk: StartDesk) -> Page:
    """Whoever is chosen stays; the other one's name is asked for."""
    from trainer.app.students import list_students

    whose = desk.whose()

    def other(name: str, recorded: Any) -> Button:
        note = recorded_note(recorded)
        return Button(printable(name), lambda _: Opens(lambda: _one_person_page(desk, name)), note)

    found = list_students(desk.context(None)).students
    rows = tuple(other(student.name, recorded) for student, recorded in found if student.name != whose)
    cancel = Button(texts.CANCEL, lambda _: Goes("back"), look="main")
    body = (Words(texts.WHO_ELSE_WORDS), Buttons(rows, columns=3))
    return Page(texts.WHO_ELSE.format(name=printable(whose)), body, foot=(cancel,))


def _one_person_page(desk: StartDesk, other: str) -> Page:
    """What joining does, before it is done."""
    whose = desk.whose()

    def act(_: Any) -> Next:
        from trainer.app.join import join_students

        lines = join_students(desk.context(None), other, whose)
        return Opens(lambda: done_page(*lines), over=2)

    names = {"other": printable(other), "name": printable(whose)}
    cancel = Button(texts.CANCEL, lambda _: Goes("back"), look="large")
    buttons = (cancel, Button(texts.JOIN, act, look="danger"))
    told = tuple(Words(one.format(**names)) for one in texts.JOIN_WORDS)
    return Page(texts.ONE_PERSON.format(**names), (*told, Buttons(buttons, columns=2)))
