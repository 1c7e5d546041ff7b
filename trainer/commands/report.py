"""`report`: a student's progress as a page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from trainer.commands.console import report as report_line
from trainer.texts import tr


@click.command()
@click.option("--student", required=True, metavar="NAME", help="Whose.")
@click.option("--out", metavar="FILE.html", type=click.Path(path_type=Path), help="Where to; else in this folder.")
@click.option("--as-judged", is_flag=True, help="Verdicts as they were, not by today's limits.")
@click.pass_obj
def report(folder: Path | None, /, **options: Any) -> int:
    """The same as a page to read, print and pass on."""
    from trainer.app.context import load_context
    from trainer.app.report import ReportRequest, write_report

    report_line(tr("wrote {path}", path=write_report(load_context(folder), ReportRequest(**options))))
    return 0
