"""The cards that say why: one asked for, or all of them as a page."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from trainer.app.context import RunContext
from trainer.app.drills import drill_folders, drill_named
from trainer.app.page_file import check_page
from trainer.coaching.reasons.card import Card
from trainer.coaching.reasons.find import ALL_CARDS, card_named, card_of_drill
from trainer.domain.printable import printable
from trainer.errors import SettingsError, UsageError
from trainer.output import PAGE, write_output
from trainer.report.reason_page import reasons_page
from trainer.settings.drill_file import known_drills
from trainer.texts import tr


def cards_for(context: RunContext, name: str | None) -> tuple[Card, ...]:
    """The card of this fault or drill; None: all of them. Raises UsageError, SettingsError."""
    if name is None:
        return ALL_CARDS
    own = known_drills([drill_folders(context.base)[1]])
    card = card_of_drill(drill_named(context.base, name)) if name in own else card_named(name)
    if card is None:
        with suppress(SettingsError):  # a drill by the name that is shown
            card = card_of_drill(drill_named(context.base, name))
    if card is None:
        raise UsageError(tr("no card for {name}", name=printable(name)), "", tr("`reasons` lists them"))
    return (card,)


def write_page(context: RunContext, name: str | None, path: Path) -> Path:
    """Returns where it is."""
    cards = cards_for(context, name)
    check_page(path)
    title = cards[0].title if len(cards) == 1 else tr("Why: faults and drills")
    write_output(path, reasons_page(title, cards).encode("utf-8"), PAGE, context.base)
    return path
