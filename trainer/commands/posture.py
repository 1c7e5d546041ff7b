"""`posture`: live with a tone, from a photo or a clip, kept with the student, two side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.options import (
    CAMERA,
    FILE,
    NO_WINDOW,
    RECORDED_FPS,
    Within,
    check_rate,
    check_written,
    handedness,
    student,
    view,
)
from trainer.domain.naming import hand_words, view_words
from trainer.errors import UsageError
from trainer.output import NUMBERS, PICTURE, output
from trainer.texts import join, tr

if TYPE_CHECKING:
    from trainer.app.context import RunContext
    from trainer.app.posture import PostureReport, PostureRequest


@click.command()
@student("The student whose ranges, height and kept postures are used.")
@CAMERA
@click.option("--image", metavar="FILE", type=FILE, help="A photo in place of the camera.")
@click.option("--clip", metavar="FILE", type=FILE, help="A clip in place of the camera: its first still address.")
@RECORDED_FPS
@click.option("--at", "at_s", metavar="S", type=Within(min=0), help="Use the picture at this second of the clip.")
@click.option("--live", is_flag=True, help="Play the clip as if it were a camera.")
@handedness("Default: recognised from the player's stance.")
@view("Default: recognised from the picture.")
@click.option("--save", is_flag=True, help="Keep picture and numbers with the student.")
@click.option("--label", default="", metavar="WORD", help="What the kept posture is called.")
@click.option("--list", "list_all", is_flag=True, help="List the student's kept postures.")
@click.option(
    "--compare",
    nargs=2,
    metavar="BEFORE AFTER",
    help="Compare two kept postures: first, last, reference, a label or name.",
)
@click.option("--reference", metavar="WHICH", help="Make a kept posture the student's reference.")
@click.option("--ranges", is_flag=True, help="With --reference: the student's ranges become those around it.")
@click.option(
    "--out", metavar="FILE.png", type=FILE, help="Write the picture with all lines; with --compare both postures."
)
@click.option("--json", "json_to", metavar="FILE|-", help="Write the numbers as JSON; - is stdout.")
@NO_WINDOW
@click.pass_obj
def posture(folder: Path | None, /, **options: Any) -> int:
    """How the player stands: lines, angles and what to change; a tone when all is well.

    With a camera it goes on until you end it; with --image or --clip it tells of one picture.
    """
    from trainer.app.context import load_context
    from trainer.app.posture import Given, PostureRequest

    _check(folder, options)
    whose: str | None = options["student"]
    context = load_context(folder, whose, camera__source=options["camera"])
    if options["list_all"]:
        return _list(context, whose)
    if options["reference"] is not None:
        return _refer(context, whose, options["reference"], options["ranges"])
    if options["compare"]:
        return _compare(context, whose, options["compare"], options["out"])
    settings = context.settings
    hand = options["handedness"] or (settings.player.handedness if whose is not None else None)
    request = PostureRequest(
        context,
        Given(options["view"], hand, settings.player.height_cm, settings.player.grip),
        **{name: options[name] for name in ("image", "clip", "at_s", "student", "save", "label")},
    )
    if request.image is None and (request.clip is None or options["live"]):
        return _live(request, options["recorded_fps"], window=not options["no_window"])
    return _one_picture(request, options["out"], options["json_to"], options["recorded_fps"])


def _check(folder: Path | None, options: dict[str, Any]) -> None:
    given = [f"--{name}" for name in ("camera", "image", "clip") if options[name] is not None]
    if len(given) > 1:
        raise UsageError(tr("more than one picture at once"), ", ".join(given), tr("give one of them"))
    check_rate(options["clip"], options["recorded_fps"])
    written = {"--out": (options["out"], PICTURE), "--json": (options["json_to"], NUMBERS)}
    check_written(written, [options["image"], options["clip"]], folder)
    if options["at_s"] is not None and (options["clip"] is None or options["live"]):
        raise UsageError(tr("a second of which clip?"), "--at", tr("give --clip FILE too, without --live"))
    if options["live"] and options["clip"] is None:
        raise UsageError(tr("live is for a clip; a camera always is"), "--live", tr("give --clip FILE too"))
    if options["ranges"] and options["reference"] is None:
        raise UsageError(tr("ranges around which posture?"), "--ranges", tr("give --reference WHICH too"))
    if options["save"] and options["student"] is None:
        raise UsageError(tr("kept postures belong to a student"), "--student", tr("say whose: --student NAME"))


def _live(request: PostureRequest, recorded_fps: float | None, window: bool) -> int:
    from trainer.app.devices import reading_at
    from trainer.app.posture import find_posture
    from trainer.commands.devices import open_devices, window_first
    from trainer.ui.posture.posture_view import PostureView

    settings = request.context.settings
    view = PostureView(settings.window.theme) if window else None
    with window_first(settings, view, "trainer.vision.body.pose") as display:
        if display is not None:
            with open_devices(settings, display) as devices:
                find_posture(request, devices, reading_at(recorded_fps))
    return 0


def _one_picture(request: PostureRequest, out: Path | None, json_to: str | None, recorded_fps: float | None) -> int:
    """The table, the picture, the JSON of one look. Exit code 2 when there can be no numbers."""
    from trainer.app.devices import reading_at
    from trainer.app.posture import judge_picture
    from trainer.commands.console import report

    found = judge_picture(request, reading_at(recorded_fps))
    if json_to is not None:
        _write_json(json_to, found)
    seen, quiet = found.looked.seen, json_to == "-"
    if seen is None:
        if not quiet:
            report(join(": ", (found.source, str(found.hints[0]) if found.hints else tr("no player seen"))))
        return 2
    if out is not None:
        from trainer.ui.export.posture_picture import write_posture

        write_posture(found.state, out)
    if not quiet:
        report(
            tr(
                "{source}: {view}, {hand}",
                source=found.source,
                view=view_words(seen.view),
                hand=hand_words(seen.handedness),
            )
        )
        _print_measures(found)
        for hint in found.hints:
            report(str(hint))
        if out is not None:
            report(tr("picture with lines: {out}", out=out))
        if found.saved:
            report(tr("kept as {saved}", saved=found.saved))
    return 0


def _write_json(where: str, found: PostureReport) -> None:
    import json
    import sys

    text = json.dumps(found.as_json()) + "\n"
    if where == "-":
        sys.stdout.write(text)
        return
    with output(Path(where), NUMBERS) as file:
        file.write(text.encode("utf-8"))


def _print_measures(found: PostureReport) -> None:
    """A row a measure, with a column for the reference if there is one."""
    from trainer.commands.tables import console, table

    between = ("reference",) if found.reference is not None else ()
    out = table(
        tr("measure"), tr("now"), tr("range"), *between, "", tr("what to do"), right=("now", "range", "reference")
    )
    for row in found.rows:
        theirs = (row.reference,) if row.reference is not None else ()
        out.add_row(row.title, row.now, row.range, *theirs, row.state, row.advice)
    console().print(out)


def _list(context: RunContext, whose: str | None) -> int:
    from datetime import datetime

    from trainer.app.clock import today
    from trainer.app.snapshots import list_snapshots
    from trainer.commands.console import report
    from trainer.domain.naming import moment_words
    from trainer.domain.printable import printable

    found = list_snapshots(context, whose)
    if not found.snapshots:
        report(tr("no postures kept yet in {folder}; --save keeps one", folder=found.folder))
    for snapshot in found.snapshots:
        mark = join("", ("  ", tr("reference"))) if snapshot.name in found.references else ""
        label = f"  {printable(snapshot.label)}" if snapshot.label else ""
        taken = moment_words(datetime.fromisoformat(snapshot.taken_at), today())
        report(join("", (f"{snapshot.name}  ", taken, label, mark)))
    return 0


def _refer(context: RunContext, whose: str | None, which: str, ranges: bool) -> int:
    from trainer.app.snapshots import set_reference
    from trainer.commands.console import report

    found = set_reference(context, whose, which, ranges)
    report(tr("{name} is now the reference for {view}", name=found.name, view=view_words(found.view)))
    if ranges:
        report(tr("{ranges_set} ranges set around it; `students set` moves any of them", ranges_set=found.ranges_set))
    return 0


def _compare(context: RunContext, whose: str | None, which: tuple[str, str], out: Path | None) -> int:
    """The table on the terminal; both pictures in a file where one is named, as of a single posture."""
    from trainer.app.snapshots import compare_snapshots
    from trainer.commands.console import report
    from trainer.commands.tables import console, table

    found = compare_snapshots(context, whose, which)
    report(
        tr(
            "{title} and {title2}, {view}",
            title=found.before.title,
            title2=found.after.title,
            view=view_words(found.before.seen.view),
        )
    )
    rows = table(
        tr("measure"),
        tr("before"),
        tr("after"),
        tr("change"),
        tr("least that counts"),
        "",
        right=("before", "after", "change", "least that counts"),
    )
    for row in found.rows:
        rows.add_row(*row)
    console().print(rows)
    if out is not None:
        from trainer.ui.export.posture_picture import write_comparison
        from trainer.ui.posture.compare_view import CompareState

        write_comparison(CompareState(found.before, found.after, found.changes), out)
        report(tr("side by side, with all lines: {path}", path=out))
    return 0
