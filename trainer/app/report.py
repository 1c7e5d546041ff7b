"""A student's progress as one self-contained page."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trainer.app.context import RunContext
from trainer.app.drills import drill_named
from trainer.app.page_file import check_page
from trainer.app.progress import ProgressRequest, student_progress
from trainer.coaching.progress.summary import Progress, best_and_typical
from trainer.domain.printable import printable
from trainer.domain.record import StrokeRecord
from trainer.errors import SettingsError, StoreError
from trainer.files import free_path
from trainer.output import PAGE, write_output
from trainer.report.page import PageContent, page
from trainer.store.students import file_name


@dataclass(frozen=True, slots=True)
class ReportRequest:
    """out: the page, None: one named after student and day in the folder, else in this one."""

    student: str
    out: Path | None = None
    as_judged: bool = False
    folder: Path = Path()


def write_report(context: RunContext, request: ReportRequest) -> Path:
    """Returns where it is."""
    if request.out is not None:
        check_page(request.out)
    found = student_progress(context, ProgressRequest(request.student, request.as_judged))
    student = found.student
    content = PageContent(
        printable(student.name),
        found.progress,
        student.settings.limits,
        tuple(_pictured(context, found.progress)),
        found.sentences,
        found.day,
        tuple((line.task, line.done) for line in found.homework),
        found.putts,
        _drill_name(context, found.progress.job.drill),
    )
    text = page(content)
    named = file_name(student.name, student.card.id or "report").removesuffix(".toml")
    path = request.out or free_path(f"{named}-{found.day:%Y%m%d}", ".html", request.folder)
    write_output(path, text.encode("utf-8"), PAGE, context.base)
    return path


def _drill_name(context: RunContext, drill: str | None) -> str:
    """As it is called; an own one that is gone, by its id."""
    try:
        return drill_named(context.base, drill).head.name if drill is not None else ""
    except SettingsError:
        return drill or ""


def _pictured(context: RunContext, progress: Progress) -> list[tuple[str, StrokeRecord]]:
    """(what it is, record) of the best and of the typical ball stroke."""
    out: list[tuple[str, StrokeRecord]] = []
    with context.open_store_to_read() as store:
        for words, stroke_id in best_and_typical(progress.strokes):
            try:
                out.append((words, store.stroke(stroke_id).record))
            except StoreError:  # damaged signals: the rest of the page is still good
                continue
    return out
