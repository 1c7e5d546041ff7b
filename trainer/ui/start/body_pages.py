"""How the player stands, and the cards that say why, as pages of the start window."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.domain.printable import printable
from trainer.texts import tr
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.file_pages import CLIPS, PICTURES, file_page
from trainer.ui.start.page import Button, Buttons, Element, Goes, Next, Opens, Page, Picture, Table, Words


def posture_page(desk: StartDesk) -> Page:
    """Live, from a picture, and what was kept."""
    buttons = [
        Button(texts.POSTURE_NOW, lambda _: _live(desk, keep=False), look="large"),
        Button(texts.POSTURE_KEEP, lambda _: _live(desk, keep=True)),
        Button(texts.POSTURE_CLIP, lambda _: Opens(lambda: _pick(desk))),
    ]
    body: list[Element] = []
    if desk.student is not None:
        from trainer.app.snapshots import list_snapshots, taken_words

        kept = list_snapshots(desk.own(), desk.student)
        if len(kept.snapshots) > 1:
            buttons.append(Button(texts.POSTURE_COMPARE, lambda _: Opens(lambda: _compare_page(desk))))
        body = [Words(texts.POSTURES_KEPT.format(count=len(kept.snapshots)), "head")] if kept.snapshots else []
        for one in kept.snapshots:
            mark = tr("; reference") if one.name in kept.references else ""
            body.append(
                Words(tr("{taken}  {label}{mark}", taken=taken_words(one), label=printable(one.label), mark=mark))
            )
    return Page(texts.POSTURE, (Buttons(tuple(buttons)), *body))


def _request(desk: StartDesk, **more: Any) -> Any:
    from trainer.app.posture import Given, PostureRequest

    context = desk.own()
    player = context.settings.player
    hand = player.handedness if desk.student is not None else None
    return PostureRequest(context, Given(None, hand, player.height_cm, player.grip), student=desk.student, **more)


def _live(desk: StartDesk, keep: bool) -> Next:
    from trainer.app.posture import find_posture
    from trainer.ui.posture.posture_view import PostureView

    if keep:
        desk.whose()
    request = _request(desk, save=keep)
    with desk.devices(request.context.settings, PostureView(desk.view.theme)) as devices:
        find_posture(request, devices, desk.openers())
    told = desk.reporter.take()
    return Goes("stay", told[-1] if told else "")


def _pick(desk: StartDesk) -> Page:
    return file_page(desk, texts.PICK_PICTURE, (*PICTURES, *CLIPS), lambda path: _judge(desk, path))


def _judge(desk: StartDesk, path: Path) -> Next:
    from trainer.app.posture import judge_picture

    which = {"image" if path.suffix.lower() in PICTURES else "clip": path}
    request, openers = _request(desk, **which), desk.openers()
    found = desk.run(texts.READING_CLIP, lambda _: judge_picture(request, openers))
    return Opens(lambda: _judged_page(desk, found), over=1)


def _judged_page(desk: StartDesk, found: Any) -> Page:
    from trainer.ui.posture.posture_view import PostureView

    view = PostureView(desk.view.theme)
    rows = tuple((row.title, row.now, row.range, row.state, row.advice) for row in found.rows)

    def paint(canvas: Any, on: Any, box: Any, *_: Any) -> None:
        part = canvas.pg.Surface(box.size)
        view.draw(part, found.state)
        on.blit(part, box)

    body: list[Element] = [Picture(paint, 420)] if found.looked.seen is not None else []
    if rows:
        body.append(Table(texts.POSTURE_HEADS, rows))
    return Page(found.source, (*body, *(Words(str(hint)) for hint in found.hints)))


def _compare_page(desk: StartDesk) -> Page:
    from trainer.app.snapshots import compare_snapshots

    found = compare_snapshots(desk.own(), desk.whose(), ("first", "last"))
    title = tr("{title}  |  {title2}", title=found.before.title, title2=found.after.title)
    return Page(title, (Table(texts.COMPARE_HEADS, tuple(tuple(row) for row in found.rows)),))


def reasons_page(desk: StartDesk) -> Page:
    from trainer.app.reasons import cards_for

    def button(card: Any) -> Button:
        return Button(card.title, lambda _: Opens(lambda: card_page(desk, card)), texts.CARD_KINDS[card.kind])

    return Page(texts.REASONS_TITLE, (Buttons(tuple(map(button, cards_for(desk.own(), None))), columns=3),))


def card_page(desk: StartDesk, card: Any) -> Page:
    """Its claims with where they are known from."""
    from trainer.coaching.reasons.find import ALL_CARDS

    body: list[Element] = []
    for heading, claims in card.sections():
        body.append(Words(heading, "head"))
        for claim in claims:
            body += [Words(claim.text), Words(claim.source, "soft")]
    if card.kind == "drill" and card in ALL_CARDS:
        from trainer.ui.start.practice_pages import practise_drill

        body.append(Buttons((Button(texts.BEGIN, lambda _: practise_drill(desk, card.name)),)))
    return Page(card.title, tuple(body))
