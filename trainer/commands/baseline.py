"""`baseline`: a few rehearsal strokes, and the limits they propose; the coach accepts them or moves them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.console import report
from trainer.commands.options import CAMERA, CLIP, NO_WINDOW, STUDENT
from trainer.commands.tables import console, table
from trainer.domain.units import unit_words
from trainer.texts import tr, tr_count

if TYPE_CHECKING:
    from datetime import datetime

    from trainer.app.baseline import Baseline, BaselineRequest


@click.command()
@STUDENT
@CAMERA
@CLIP
@click.option("--last", is_flag=True, help="From strokes on record, without practising now.")
@click.option(
    "--count", type=click.IntRange(5, 50), default=8, show_default=True, help="How many strokes the limits rest on."
)
@click.option("--accept", is_flag=True, help="Set the proposed limits.")
@click.option("--by", "who", default="", metavar="WHO", help="Who decides it, for the record.")
@NO_WINDOW
@click.pass_obj
def baseline(folder: Path | None, /, **options: Any) -> int:
    """Limits that fit a student, from strokes without a ball."""
    from dataclasses import replace

    from trainer.app.baseline import BaselineRequest, baseline
    from trainer.app.context import load_context

    last, practice = options.pop("last"), {name: options.pop(name) for name in ("camera", "clip", "recorded_fps")}
    practice["window"] = not options.pop("no_window")
    request = BaselineRequest(**options)
    if not last:
        request = replace(request, since=_practise(folder, request, practice))
    found = baseline(load_context(folder), request)
    _print(found)
    return 0


def _practise(folder: Path | None, request: BaselineRequest, options: dict[str, Any]) -> datetime:
    """In silence, until the user ends it. Returns when it began. options: of the practice."""
    from trainer.app.baseline import student_with_id
    from trainer.app.clock import now
    from trainer.app.context import load_context
    from trainer.commands.practice import PracticeOptions, practise

    student, begun = student_with_id(load_context(folder), request.student), now()
    report(
        tr(
            "Make {count} strokes without a ball, as you would like to putt; then end the practice (Q, or Ctrl-C).",
            count=request.count,
        )
    )
    practise(folder, PracticeOptions(student.name, schedule="silent", recorded="rehearsal", **options))
    return begun


def _print(found: Baseline) -> None:
    numbers = (tr("typical"), tr("spread"), tr("now"), tr("proposed"))
    out = table(tr("limit"), *numbers, tr("unit"), tr("why"), right=numbers)
    for p in found.proposals:
        usual = (
            (tr("{value:.1f}", value=p.spread.typical), tr("{value:.1f}", value=p.spread.sd))
            if p.spread
            else ("-", "-")
        )
        out.add_row(
            p.fault,
            *usual,
            tr("{value:g}", value=p.now.value),
            tr("{value:g}", value=p.value),
            unit_words(p.now.unit),
            p.why,
        )
    console().print(out)
    report(
        tr_count("from {count} rehearsal stroke", "from {count} rehearsal strokes", found.strokes)
        + (tr("; {enough} are better", enough=found.enough) if found.few else "")
    )
    if found.lengths_cm is not None:
        low, high = found.lengths_cm
        report(
            tr(
                "they went {low:.0f} to {high:.0f} cm back; the limits are for every length up to {up_to_cm:.0f} cm back,"
                " the longest that was tried",
                low=low,
                high=high,
                up_to_cm=found.up_to_cm,
            )
        )
    if not found.changes:
        report(tr("nothing to change"))
    elif found.accepted:
        report(tr("limits set; `students set` moves any of them"))
    else:
        report(tr("nothing was changed; --last --accept sets these, `students set` others"))
