"""`reasons`: why a fault costs and what a drill is for, a card each."""

from __future__ import annotations

from pathlib import Path

import click

from trainer.commands.console import report
from trainer.commands.tables import console, escaped, table
from trainer.texts import tr

KINDS = {"fault": tr("fault"), "drill": tr("drill")}


@click.command()
@click.argument("name", metavar="[FAULT|DRILL]", required=False)
@click.option(
    "--page", metavar="FILE.html", type=click.Path(path_type=Path), help="Write the card as a page with its figure."
)
@click.pass_obj
def reasons(folder: Path | None, name: str | None, page: Path | None) -> int:
    """Why a fault costs, what a drill is for: a card each, with what to try and where it is known from."""
    from trainer.app.context import load_context
    from trainer.app.reasons import cards_for, write_page

    context = load_context(folder)
    if page is not None:
        report(tr("wrote {path}", path=write_page(context, name, page)))
        return 0
    out = console()
    cards = cards_for(context, name)
    if name is None:
        listed = table(tr("card"), "", "", overflow="fold")
        for card in cards:
            listed.add_row(card.name.replace("_", "-"), KINDS[card.kind], card.title)
        out.print(listed)
        out.print(tr("`reasons CARD` tells one; `reasons --page FILE.html` writes all of them with their figures"))
        return 0
    for card in cards:
        out.print(f"[bold]{escaped(card.title)}[/bold]", soft_wrap=True)
        for heading, claims in card.sections():
            out.print()
            out.print(f"[bold]{escaped(heading)}[/bold]")
            for claim in claims:
                out.print(escaped(claim.text), soft_wrap=True)
                out.print(f"[dim]  {escaped(claim.source)}[/dim]", soft_wrap=True)
    return 0
