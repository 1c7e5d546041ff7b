"""`baseline`: a few rehearsal strokes, and the limits they propose; the coach accepts them or moves them."""

from __future__ import annotations

from datetime import datetime, timezone
from pathlib import Path

from rich import box
from rich.table import Table

from trainer.app.context import load_context, report_line
from trainer.coaching.baseline import STROKES, Proposal, proposals
from trainer.commands.strokes import console
from trainer.commands.students import set_values, student_key, with_id
from trainer.errors import UsageError
from trainer.settings.model import limit_key
from trainer.store.history import rehearsals
from trainer.store.students import Students, shown


def run_baseline(
    data_folder: Path | None,
    student: str,
    camera: str | None,
    clip: Path | None,
    last: bool,
    count: int,
    accept: bool,
    who: str,
    window: bool,
) -> int:
    """Practises in silence until the strokes are there, unless they are on record already (``last``); then proposes."""
    context = load_context(data_folder)
    students = Students(context.base)
    person = with_id(students, students.find(student))
    begun = datetime.min.replace(tzinfo=timezone.utc) if last else datetime.now(timezone.utc)
    if not last:
        from trainer.commands.practice import run_practice

        report_line(
            f"Make {count} strokes without a ball, as you would like to putt; then end the practice (Q, or Ctrl-C)."
        )
        run_practice(data_folder, person.name, camera, clip, None, None, window, schedule="silent")
    with context.open_store() as store:
        measures = rehearsals(store, student_key(person), count, begun)
    if not measures:
        raise UsageError(f"no rehearsal strokes of {shown(person.name)}", "", "strokes without a ball are wanted")
    proposed = proposals(measures, person.settings.limits)
    console().print(_table(proposed))
    report_line(
        f"from {len(measures)} rehearsal strokes" + ("" if len(measures) >= STROKES else f"; {STROKES} are better")
    )
    changes = {f"limits.{p.fault}.{limit_key(p.now)}": p.value for p in proposed if p.changes}
    if not changes:
        report_line("nothing to change")
    elif accept:
        set_values(context, students, person, changes, who, f"baseline of {len(measures)} rehearsal strokes")
        report_line("limits set; `students set` moves any of them")
    else:
        report_line("nothing was changed; --last --accept sets these, `students set` others")
    return 0


def _table(proposed: tuple[Proposal, ...]) -> Table:
    table = Table(box=box.SIMPLE_HEAD)
    for heading in ("limit", "typical", "spread", "now", "proposed", "unit", "why"):
        table.add_column(heading, justify="right" if heading in ("typical", "spread", "now", "proposed") else "left")
    for p in proposed:
        spread = (f"{p.spread.typical:.1f}", f"{p.spread.spread:.1f}") if p.spread else ("-", "-")
        table.add_row(p.fault, *spread, f"{p.now.value:g}", f"{p.value:g}", p.now.unit, p.why)
    return table
