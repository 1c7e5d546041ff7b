"""What is known of a student, printed: `students show`."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from trainer.commands.tables import console, escaped, limit_cells, table
from trainer.domain.naming import hand_words, moment_words, schedule_words, view_words
from trainer.domain.printable import printable
from trainer.texts import join, printed, tr, tr_count

if TYPE_CHECKING:
    from trainer.app.students import StudentFiles, StudentView


def print_facts(view: StudentView) -> None:
    """All but the limits."""
    from rich.table import Table

    from trainer.app.student_words import recorded_words

    player, card, camera, mode = (
        view.student.settings.player,
        view.student.card,
        view.student.settings.camera,
        view.mode,
    )
    facts = [
        (tr("name"), printable(view.student.name)),
        (tr("putts"), hand_words(player.handedness)),
        (tr("height"), tr("{height_cm:g} cm", height_cm=player.height_cm) if player.height_cm else tr("not known")),
        (
            tr("camera"),
            tr(
                "{source}, {view}, {width}x{height} at {fps:g}/s",
                source=camera.source,
                view=view_words(camera.view),
                width=mode.width,
                height=mode.height,
                fps=mode.fps,
            ),
        ),
        (tr("feedback"), schedule_words(view.student.settings.feedback.schedule)),
        (tr("drills"), ", ".join(card.drills) or tr("none")),
        (tr("notes"), card.notes or tr("none")),
        (tr("file"), str(view.student.path)),
        (tr("record"), recorded_words(view.recorded)),
        (tr("video"), _files_line(view.files)),
    ]
    if view.last_change is not None:
        last = view.last_change
        why = tr(": {why}", why=last.why) if last.why else ""
        facts.append(
            (
                tr("limits set"),
                tr(
                    "{moment} by {who}{why}",
                    moment=moment_words(datetime.fromisoformat(last.at)),
                    who=last.who or tr("unknown"),
                    why=why,
                ),
            )
        )
    facts += [(tr("profile"), line) for line in view.profile]
    facts += [(tr("homework"), join("; ", (line.task, line.done))) for line in view.homework]
    grid = Table.grid(padding=(0, 2))
    for key, value in facts:
        grid.add_row(printed(key), escaped(value))
    console().print(grid)


def _files_line(files: StudentFiles) -> str:
    from trainer.app.student_words import megabytes

    of_strokes = (
        tr_count(", {count} of them a stroke", ", {count} of them strokes", files.of_strokes)
        if files.of_strokes
        else ""
    )
    return (
        tr(
            "{files}{of_strokes}, {size} in {folder}",
            files=tr_count("{count} file", "{count} files", files.files),
            of_strokes=of_strokes,
            size=megabytes(files.size_bytes),
            folder=files.folder,
        )
        if files.files
        else tr("none kept")
    )


def print_limits(view: StudentView) -> None:
    """Each with its range and what it is."""
    limits = view.student.settings.limits
    out = table(tr("limit"), tr("on"), tr("value"), tr("unit"), tr("range"), right=("value",), no_wrap=True)
    out.add_column(tr("what"))
    for name, limit in limits:
        out.add_row(
            *limit_cells(name, limit),
            limit.note,
        )
    console().print(out)
