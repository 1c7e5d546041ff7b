"""`report`: a student's progress as a page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from trainer.commands.console import report as report_line
from trainer.commands.options import STUDENT
from trainer.texts import tr


@click.command()
@STUDENT
@click.option(
    "--out", metavar="FILE.html", type=click.Path(path_type=Path), help="Output file; default: in the current folder."
)
@click.option("--as-judged", is_flag=True, help="Use the verdicts as they were, not today's limits.")
@click.pass_obj
def report(folder: Path | None, /, **options: Any) -> int:
    """A student's progress as a page to read, print and pass on."""
    from trainer.app.context import load_context
    from trainer.app.report import ReportRequest, write_report

    report_line(tr("wrote {path}", path=write_report(load_context(folder), ReportRequest(**options))))
    return 0
