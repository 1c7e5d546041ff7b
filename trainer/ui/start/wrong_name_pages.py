"""Strokes under a wrong name: given to whose they are, or taken out of the record, as pages of the start window."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trainer.domain.printable import printable
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.page import Button, Buttons, Column, Columns, Element, Goes, Next, Opens, Page, Words

if TYPE_CHECKING:
    from trainer.app.reassign import OnRecord, StrokesOf


def wrong_name_page(desk: StartDesk, session: int, stroke: int | None = None) -> Page:
    """Whose they are instead, or nobody's. session, stroke: as the record numbers them; None: all of the session alone."""
    from trainer.app.reassign import OnRecord, find_on_record, others_to_give_to

    context, whole = desk.own(), OnRecord(session)
    found = find_on_record(context, whole)
    others = others_to_give_to(context, found)
    ways = [(whole, texts.GIVE_SESSION, texts.ALL_SESSION)]
    body: list[Element] = [_recorded(found)]
    if stroke is not None:
        one = OnRecord(session, stroke)
        ways.insert(0, (one, texts.GIVE_STROKE, texts.THIS_STROKE))
        body = [_recorded(find_on_record(context, one)), Words(texts.WHOLE_SESSION.format(listed=found.listed), "soft")]
    if not others:
        body.append(Words(texts.NOBODY_ELSE))
    give = [Column(head, (*(_give(desk, chosen, name) for name in others), _add(desk))) for chosen, head, _ in ways]
    out = Column(texts.TAKE_OUT, tuple(_take_out(desk, chosen, words) for chosen, _, words in ways))
    cancel = Button(texts.CANCEL, lambda _: Goes("back"), look="main")
    return Page(texts.WRONG_NAME, (*body, Columns((*give, out))), foot=(cancel,))


def _recorded(found: StrokesOf) -> Words:
    under = texts.RECORDED_NAMELESS if found.nameless else texts.RECORDED_UNDER
    return Words(under.format(name=found.whose, listed=found.listed), "head")


def _add(desk: StartDesk) -> Button:
    from trainer.ui.start.first_pages import add_page

    return Button(texts.ADD, lambda _: Opens(lambda: add_page(desk, chosen=False)))


def _give(desk: StartDesk, chosen: OnRecord, to: str) -> Button:
    def act(_: Any) -> Next:
        from trainer.app.reassign import find_on_record, give_strokes

        context = desk.own()
        line = give_strokes(context, find_on_record(context, chosen), to)
        return Opens(lambda: done_page(line), over=2)  # the page that it was begun from shows what has gone

    return Button(printable(to), act)


def _take_out(desk: StartDesk, chosen: OnRecord, words: str) -> Button:
    return Button(words, lambda _: Opens(lambda: _take_out_surely_page(desk, chosen)), look="danger")


def _take_out_surely_page(desk: StartDesk, chosen: OnRecord) -> Page:
    from trainer.app.reassign import find_on_record, take_out_strokes

    def act(_: Any) -> Next:
        context = desk.own()
        line = take_out_strokes(context, find_on_record(context, chosen))
        return Opens(lambda: done_page(line), over=3)

    found = find_on_record(desk.own(), chosen)
    words = Words(texts.TAKE_OUT_WORDS.format(listed=found.listed, name=found.whose))
    cancel = Button(texts.CANCEL, lambda _: Goes("back"), look="large")
    buttons = (cancel, Button(texts.TAKE_OUT_NOW, act, look="danger"))
    return Page(texts.TAKE_OUT_SURE, (words, Buttons(buttons, columns=2)))


def done_page(*lines: str) -> Page:
    """What was done, in a line; what else there is to say of it, below."""
    buttons = (Button(texts.GO_ON, lambda _: Goes("back"), look="large"), Button(texts.HOME, lambda _: Goes("home")))
    return Page(texts.DONE, (Words(lines[0], "head"), *map(Words, lines[1:]), Buttons(buttons, columns=2)))
