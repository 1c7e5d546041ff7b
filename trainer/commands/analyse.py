"""`analyse`: the strokes of recorded clips as tables, as JSON, or drawn into the clip."""

from __future__ import annotations

import sys
from contextlib import contextmanager, nullcontext
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Any, Callable, Iterator, TextIO

import click

from trainer.commands.options import FILE, RECORDED_FPS, check_written, handedness, student, view
from trainer.errors import UsageError
from trainer.output import CLIP, NUMBERS, output
from trainer.texts import join, tr, tr_count

if TYPE_CHECKING:
    from trainer.app.analyse_jobs import Processes
    from trainer.app.analysis_json import ClipReport
    from trainer.app.clip_process import ClipProcess

MOST_JOBS = 64


@click.command()
@click.argument("clips", nargs=-1, required=True, type=FILE, metavar="CLIP...")
@student()
@handedness("Which way the player putts.")
@view("From which side the camera sees the player.")
@RECORDED_FPS
@click.option("--json", "json_to", metavar="FILE|-", help="Write one JSON object a clip, each on a line; - is stdout.")
@click.option(
    "--jobs", type=click.IntRange(1, MOST_JOBS), default=1, metavar="N", help="How many clips to process at once."
)
@click.option("--annotated", metavar="OUT.mp4", type=FILE, help="Write the clip with what was seen.")
@click.pass_obj
def analyse(
    folder: Path | None,
    /,
    clips: tuple[Path, ...],
    json_to: str | None,
    annotated: Path | None,
    jobs: int,
    **options: Any,
) -> int:
    """Judge the strokes of recorded clips. Nothing is put on record: `practice --clip` does that."""
    from trainer.app.analyse_jobs import Processes

    if annotated is not None and len(clips) > 1:
        raise UsageError(
            tr("one video needs one clip"), "--annotated", tr("{clips} clips were given", clips=len(clips))
        )
    check_written({"--json": (json_to, NUMBERS), "--annotated": (annotated, CLIP)}, clips, folder)
    at_once = min(jobs, len(clips))
    if at_once == 1:
        from trainer.app.clip_process import ClipProcess

        with ClipProcess() if ClipProcess.possible() else nullcontext() as reader:  # it loads its model while we go on
            return _judge(folder, clips, json_to, annotated, options, reader=reader)
    with Processes(at_once, "trainer.app.analyse_loaded") as processes:  # they load what they need while we do
        return _judge(folder, clips, json_to, None, options, processes)


def _judge(
    folder: Path | None,
    clips: tuple[Path, ...],
    json_to: str | None,
    annotated: Path | None,
    options: dict[str, Any],
    processes: Processes | None = None,
    reader: ClipProcess | None = None,
) -> int:
    """All of them, told as they are judged; the exit code."""
    import json

    from trainer.app.analyse import AnalyseRequest
    from trainer.app.analyse import analyse as analysed
    from trainer.app.analysis_json import as_json
    from trainer.app.context import load_context
    from trainer.commands.console import report, warn
    from trainer.commands.terminal_bar import bar
    from trainer.domain.naming import for_student

    settings = load_context(
        folder, options["student"], player__handedness=options["handedness"], camera__view=options["view"]
    ).settings
    failed = False
    with _json_out(json_to) as out:
        request = AnalyseRequest(clips, settings, options["recorded_fps"])
        for result in analysed(request, _writer_to(annotated), bar, processes, reader):
            if result.report is not None:
                if out is not None:
                    print(json.dumps(as_json(result.report), allow_nan=False), file=out, flush=True)
                if json_to != "-":
                    _print(result.report)
            if result.error is not None:
                failed = True
                warn(result.error.line())
    if options["student"] and not failed:
        whose = for_student(options["student"])
        report(tr("judged, not recorded: `practice{whose} --clip CLIP` puts strokes on record", whose=whose))
    return 2 if failed else 0


def _writer_to(path: Path | None) -> Callable[..., Any] | None:
    if path is None:
        return None
    from trainer.app import build
    from trainer.ui.export.annotated_clip import AnnotatedClip

    return lambda fps, settings: AnnotatedClip(path, fps, build.targets(settings), settings.window.theme)


def _print(report: ClipReport) -> None:
    from trainer.commands.strokes import stroke_table
    from trainer.commands.tables import console

    out = console()
    rows = [(n, s.record, s.verdict) for n, s in enumerate(report.strokes, 1)]
    out.print(
        tr_count("{name}: {count} stroke", "{name}: {count} strokes", len(rows), name=report.name),
        soft_wrap=True,
        markup=False,
    )
    if rows:
        out.print(stroke_table(rows))
    for line in report.warnings:
        out.print(join("", ("  ", line)), soft_wrap=True, markup=False)


@contextmanager
def _json_out(target: str | None) -> Iterator[TextIO | None]:
    """Where JSON goes. A file appears whole or not at all."""
    if target is None or target == "-":
        yield sys.stdout if target else None
        return
    with output(Path(target), NUMBERS) as file, TextIOWrapper(file, encoding="utf-8") as out:
        yield out
