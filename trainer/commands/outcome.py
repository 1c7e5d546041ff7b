"""`outcome`: where the ball of a stroke went."""

from __future__ import annotations

from pathlib import Path

import click

from trainer.commands.console import report
from trainer.commands.options import STUDENT, Within, stroke_chosen
from trainer.domain.outcome import WHERE, PuttOutcome, Where


@click.command()
@click.argument("where", type=click.Choice(WHERE))
@STUDENT
@click.option("--stroke", metavar="K", help="Its number as `strokes --student` lists it; default: the newest.")
@click.option("--distance", "putt_m", type=Within(0.2, 40), metavar="M", help="How far the putt was, in m.")
@click.pass_obj
def outcome(folder: Path | None, where: Where, student: str, stroke: str | None, putt_m: float | None) -> int:
    """Note whether a putt was holed, or where it missed; while practising the keys 1 to 5 do it."""
    from trainer.app.context import load_context
    from trainer.app.outcome import OutcomeRequest, enter_outcome

    chosen = stroke_chosen(stroke, "--stroke") if stroke is not None else None
    report(enter_outcome(load_context(folder), OutcomeRequest(student, PuttOutcome(where, putt_m), chosen)))
    return 0
