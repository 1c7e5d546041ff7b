"""The five pages of the first time, and adding and changing students. Each may be skipped; next time it goes on there."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trainer.app.start.memory import DONE, FIRST_PAGES
from trainer.domain.printable import printable
from trainer.errors import UsageError
from trainer.texts import tr
from trainer.ui.start import texts
from trainer.ui.start.camera_peek import CameraPeek
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.home_page import home_page
from trainer.ui.start.page import Button, Buttons, Choice, Element, Field, Goes, Next, Opens, Page, Picture, Words

LOUDER = 0.2
PEEK_S = 0.1


def first_or_home(desk: StartDesk) -> Page:
    """The page of the first time that comes next; the start page once all were seen."""
    peek = desk.peek
    if desk.memory.first_page != 1 and peek is not None:
        peek.close()
        desk.peek = None
    pages = (_who, _camera, _sound, _place, _setup)
    if desk.memory.first_page >= FIRST_PAGES:
        return home_page(desk)
    return pages[desk.memory.first_page](desk)


def _page(desk: StartDesk, title: str, body: tuple[Element, ...], buttons: tuple[Button, ...]) -> Page:
    """With what is on every one of them."""
    number = desk.memory.first_page + 1
    words = Words(texts.FIRST_OF.format(number=number, count=FIRST_PAGES), "soft")
    skip = (Button(texts.SKIP, lambda _: _on(desk)), Button(texts.SKIP_ALL, lambda _: _on(desk, DONE)))
    number_before = desk.memory.first_page - 1  # the first page is not come back to: the student is added by then
    back = (Button(texts.BEFORE, lambda _: _on(desk, number_before)),) if number_before > 0 else ()
    return Page(title, (words, *body, Buttons((*buttons, *skip, *back), columns=4)), home=True)


def _on(desk: StartDesk, to: int | None = None, said: str = "", wrong: bool = False) -> Next:
    page = desk.memory.first_page + 1 if to is None else to
    desk.remember(replace(desk.memory, first_page=page))
    return Goes("home", said, wrong)


def _who(desk: StartDesk) -> Page:
    def act(values: Any) -> Next:
        name = _added(desk, values)
        desk.choose(name)
        return _on(desk, said=texts.ADDED.format(name=printable(name)))

    body = (Words(texts.WHO_WORDS), *_who_fields(), Words(texts.HEIGHT_WORDS, "soft"))
    return _page(desk, texts.WHO_TITLE, body, (Button(texts.NEXT, act, look="main"),))


def _who_fields() -> tuple[Element, ...]:
    return (
        Field("name", texts.NAME, most=60),
        Choice("hand", texts.HAND, (("right", texts.RIGHT_HANDED), ("left", texts.LEFT_HANDED)), "right"),
        Field("height", texts.HEIGHT, most=20),
        Choice("unit", texts.UNIT, (("m", texts.METRES), ("ft", texts.FEET)), "m"),
    )


def _added(desk: StartDesk, values: Any) -> str:
    """Adds a student as `students add` does, with the unit as `distance unit`."""
    from trainer.app.distance.desk import choose_unit
    from trainer.app.start.height import height_cm
    from trainer.app.students import add_student

    if not values["name"].strip():
        raise UsageError(texts.NO_NAME_YET, texts.NAME)
    given: dict[str, Any] = {"player.handedness": values["hand"]}
    height = height_cm(values["height"])
    if height is not None:
        given["player.height_cm"] = height
    name = add_student(desk.context(None), values["name"].strip(), given).student.name
    choose_unit(desk.context(name), values["unit"], None)
    return name


def _camera(desk: StartDesk) -> Page:
    """The camera's picture beside a list of cameras."""
    from trainer.app.start.cameras import camera_choices
    from trainer.app.start.common_settings import change_common

    settings = desk.context(None).settings
    own = settings.camera.source
    if desk.peek is None:
        desk.peek = CameraPeek(desk.camera)
    desk.peek.look(settings, desk.context(None).base)
    peek = desk.peek

    def choose(number: str) -> Any:
        def act(_: Any) -> Next:
            change_common(desk.context(None), {"camera.source": int(number) if number.isdigit() else number})
            return Goes("stay")

        return act

    listed = tuple(Button(texts.camera_called(n), choose(n), chosen=n == str(own)) for n in camera_choices(own))
    shown: tuple[Element, ...] = (Picture(peek.paint, 230),)
    if peek.fault:
        shown = (Words(peek.fault), Buttons((Button(texts.LOOK_AGAIN, lambda _: _again(peek)),)))
    body = (Words(texts.NO_CAMERA_WORDS if peek.fault else texts.CAMERA_WORDS), Buttons(listed), *shown)
    page = _page(desk, texts.CAMERA_TITLE, body, (Button(texts.NEXT, lambda _: _on(desk), look="main"),))
    return replace(page, live_s=PEEK_S)


def _again(peek: CameraPeek) -> Next:
    peek.close()
    return Goes("stay")


def sound_body(desk: StartDesk) -> tuple[Element, ...]:
    """A tone to be heard; louder; the loudspeakers there are."""
    from trainer.app.start.common_settings import change_common

    sound = desk.context(None).settings.sound

    def play(_: Any) -> Next:
        from trainer.app.checkup import try_sound

        finding = try_sound(desk.context(None).settings, desk.openers(), desk.clock)
        played = finding.state == "ok"
        return Goes("stay", texts.PLAYED if played else finding.words, wrong=not played)

    def louder(values: Any) -> Next:
        if sound.volume >= 1.0:
            return Goes("stay", texts.NO_LOUDER)
        change_common(desk.context(None), {"sound.volume": round(min(1.0, sound.volume + LOUDER), 2)})
        return play(values)

    def on(device: str) -> Button:
        def act(values: Any) -> Next:
            change_common(desk.context(None), {"sound.device": device or None, "sound.backend": None})
            return play(values)

        words = printable(device) or texts.SYSTEMS_OWN
        return Button(words, act, chosen=device == sound.device)

    return (
        Words(texts.SOUND_WORDS),
        Words(texts.VOLUME_IS.format(volume=sound.volume), "soft"),
        Buttons((Button(texts.PLAY, play, look="main"), Button(texts.LOUDER, louder)), columns=3),
        Words(texts.OTHER_SOUND, "soft"),
        Buttons(tuple(map(on, desk.loudspeakers())), columns=3),
    )


def _sound(desk: StartDesk) -> Page:
    heard = Button(texts.HEARD, lambda _: _on(desk), look="main")
    return _page(desk, texts.SOUND_TITLE, sound_body(desk), (heard,))


def _place(desk: StartDesk) -> Page:
    body = tuple(Words(line) for line in texts.PLACE_WORDS)
    return _page(desk, texts.PLACE_TITLE, body, (Button(texts.NEXT, lambda _: _on(desk), look="main"),))


def _setup(desk: StartDesk) -> Page:
    from trainer.app.microphone import QUESTION, keep_answer
    from trainer.ui.start.machine_pages import setup

    asks = desk.can_listen()

    def act(values: Any) -> Next:
        if asks:
            keep_answer(desk.context(None), values["microphone"] == "yes")
        result = setup(desk)
        return _on(desk, said=result.words, wrong=not result.done)

    question: tuple[Element, ...] = ()
    if asks:
        listens = texts.yes_no(desk.context(None).settings.hearing.microphone)
        question = (Words(QUESTION), Choice("microphone", texts.MICROPHONE, texts.LISTENS, listens))
    begin = Button(texts.BEGIN_SETUP, act, look="large")
    return _page(desk, texts.SETUP_TITLE, (*map(Words, texts.SETUP_WORDS), *question), (begin,))


# ---- students, at any time


def students_page(desk: StartDesk) -> Page:
    """One press switches."""
    from trainer.app.students import list_students
    from trainer.ui.start.join_pages import who_else_page

    found = list_students(desk.context(None))

    def choose(name: str) -> Any:
        def act(_: Any) -> Next:
            desk.choose(name)
            return Goes("home")

        return act

    def button(student: Any, recorded: Any) -> Button:
        note = recorded_note(recorded)
        return Button(printable(student.name), choose(student.name), note, chosen=student.name == desk.student)

    rows = tuple(button(*one) for one in found.students)
    more = [Button(texts.ADD, lambda _: Opens(lambda: add_page(desk)))]
    if desk.student is not None:
        words = texts.CHANGE.format(name=printable(desk.student))
        more.append(Button(words, lambda _: Opens(lambda: change_page(desk))))
        if len(rows) > 1:
            words = texts.TWICE.format(name=printable(desk.student))
            more.append(Button(words, lambda _: Opens(lambda: who_else_page(desk))))
    return Page(
        texts.STUDENTS,
        (Buttons(rows, columns=3), Buttons(tuple(more)), *(Words(line, "soft") for line in found.faults)),
    )


def recorded_note(recorded: Any) -> str:
    """How much is on record of a student."""
    return texts.STUDENT_NOTE.format(
        strokes=texts.strokes(recorded.strokes), sessions=texts.sessions(recorded.sessions)
    )


def add_page(desk: StartDesk, chosen: bool = True) -> Page:
    """chosen: who is added practises from then on; else it leads back to where somebody was missing."""

    def act(values: Any) -> Next:
        name = _added(desk, values)
        if chosen:
            desk.choose(name)
        return Goes("home" if chosen else "back", texts.ADDED.format(name=printable(name)))

    body = (*_who_fields(), Words(texts.HEIGHT_WORDS, "soft"))
    return Page(texts.ADD, body, foot=(Button(texts.SAVE, act, look="main"),))


def change_page(desk: StartDesk) -> Page:
    """Another name, hand, height or way of holding the putter."""
    from trainer.app.start.height import height_cm

    whose = desk.whose()
    player = desk.own().settings.player

    def act(values: Any) -> Next:
        from trainer.app.students import SetRequest, rename_student, set_student

        changes: dict[str, Any] = {}
        if values["hand"] != player.handedness:
            changes["player.handedness"] = values["hand"]
        if (height := height_cm(values["height"])) != player.height_cm:
            changes["player.height_cm"] = height
        for key in ("long_putter", "seated"):
            if (said := values[key] == "yes") != getattr(player, key):
                changes[f"player.{key}"] = said
        if values["grip"] != player.grip:
            changes["player.grip"] = values["grip"]
        if changes:
            set_student(desk.context(None), SetRequest(whose, changes))
        name = values["name"].strip()
        if name != whose:
            _, after = rename_student(desk.context(None), whose, name)
            desk.choose(after.name)
        return Goes("home", texts.CHANGED.format(name=printable(name)))

    height = tr("{height_cm:g}", height_cm=player.height_cm) if player.height_cm else ""
    body = (
        Field("name", texts.NAME, whose, 60),
        Choice("hand", texts.HAND, (("right", texts.RIGHT_HANDED), ("left", texts.LEFT_HANDED)), player.handedness),
        Field("height", texts.HEIGHT, height, 20),
        Words(texts.HEIGHT_WORDS, "soft"),
        Choice("grip", texts.GRIP, texts.GRIPS, player.grip),
        Choice("long_putter", texts.PUTTER, texts.PUTTERS, texts.yes_no(player.long_putter)),
        Choice("seated", texts.STANDS, texts.STANDINGS, texts.yes_no(player.seated)),
        Words(texts.TRAIL_WORDS, "soft"),
    )
    return Page(texts.CHANGE.format(name=printable(whose)), body, foot=(Button(texts.SAVE, act, look="main"),))
