"""`review`: a stroke again, slow and with lines, or two side by side; in a window, or straight to files."""

from __future__ import annotations

import math
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trainer.commands.options import (
    FILE,
    HANDS,
    RECORDED_FPS,
    VIEWS,
    Within,
    check_written,
    handedness,
    stroke_chosen,
    student,
    view,
)
from trainer.errors import UsageError
from trainer.output import CLIP, PICTURE, SHEET
from trainer.texts import tr

if TYPE_CHECKING:
    from trainer.app.context import RunContext
    from trainer.app.review import Against, Arrangement, Instant, ReviewNumbers, ReviewRequest
    from trainer.ui.review.reviewer import Reviewer
    from trainer.worker import Progress


@click.command()
@click.argument("clips", nargs=-1, type=FILE, metavar="[CLIP...]")
@student("Whose strokes; default: the last session's.")
@click.option("--stroke", metavar="K", help="Its number in the last session, or SESSION/NUMBER counted back from 1.")
@click.option("--against", metavar="J", help="The stroke beside it: a number like --stroke, `best`, or `pair`.")
@click.option(
    "--align", default="impact", show_default=True, metavar="ON", help="Side by side at this event, or `phase`."
)
@click.option("--ghost", is_flag=True, help="The other stroke laid over this one.")
@click.option("--lines", metavar="A,B|all|none", help="Lines drawn: arm, leg, outline, paths, head, spine.")
@click.option("--whole-picture", is_flag=True, help="Show the whole picture, not close up on the player.")
@click.option("--theme", type=click.Choice(["dark", "light"]), help="Colours: light on dark, or dark on light.")
@handedness("Which way the player in the clip putts.")
@click.option("--other-handedness", type=HANDS, help="Which way the player in the second clip putts, if another.")
@view("From which side the clip shows the player.")
@click.option("--other-view", type=VIEWS, help="From which side the second clip shows the player, if another.")
@RECORDED_FPS
@click.option("--at", metavar="WHEN", help="Begin at this event (or seconds); --numbers reads there, else at impact.")
@click.option("--still", metavar="WHEN", help="Keep a picture at an event (or at seconds), without the window.")
@click.option("--out", type=FILE, metavar="X.png", help="Where the still goes.")
@click.option("--clip-out", type=FILE, metavar="X.mp4", help="Keep a clip with the lines, without the window.")
@click.option("--from", "begin", metavar="WHEN", help="Where the kept clip begins.")
@click.option("--to", "end", metavar="WHEN", help="Where the kept clip ends.")
@click.option(
    "--speed",
    type=Within(0.05, 2.0),
    default=1.0,
    show_default=True,
    help="Speed of the clip: 0.25 is a quarter.",
)
@click.option("--with-sound", is_flag=True, help="The clip has the stroke's cues as they were sounded.")
@click.option("--sheet", type=FILE, metavar="X.pdf", help="Keep a page to compare (PDF or PNG), without the window.")
@click.option("--numbers", is_flag=True, help="Print the numbers, without the window.")
@click.pass_obj
def review(folder: Path | None, /, **options: Any) -> int:
    """See strokes again: slow, with lines, two side by side.

    Without a clip it is the last session on record; with two clips, a stroke of each.
    """
    from trainer.app.context import load_context
    from trainer.commands.console import CONSOLE
    from trainer.commands.terminal_bar import telling

    _check(folder, options)
    context = load_context(
        folder,
        options["student"],
        player__handedness=options["handedness"],
        camera__view=options["view"],
        window__theme=options["theme"],
    )
    if not _to_files(options):
        _show(folder, context, options)
        return 0
    from trainer.app.review import open_review
    from trainer.ui.review.reviewer import Reviewer

    request = _request(folder, context, options)
    with telling() as progress, open_review(request, CONSOLE, progress) as session:
        _write(Reviewer(session, context.settings.window.theme), options, progress)
        for note in session.notes:  # the window shows them itself
            CONSOLE.warn(note)
    return 0


def _request(folder: Path | None, context: RunContext, options: dict[str, Any]) -> ReviewRequest:
    from trainer.app.context import load_context
    from trainer.app.review import ReviewRequest

    arrangement = _arrangement(options)
    whose, hand, view = options["student"], options["other_handedness"], options["other_view"]
    second = None
    if hand or view:
        hand, view = hand or options["handedness"], view or options["view"]
        second = load_context(folder, whose, player__handedness=hand, camera__view=view).settings
    stroke = stroke_chosen(options["stroke"], "--stroke") if options["stroke"] else None
    against = _against(options["against"])
    return ReviewRequest(
        context, options["clips"], second, whose, stroke, against, arrangement, options["recorded_fps"]
    )


def _to_files(options: dict[str, Any]) -> bool:
    """Something is to be made, so no window is asked for."""
    return bool(options["still"] or options["clip_out"] or options["sheet"] or options["numbers"])


def _check(folder: Path | None, options: dict[str, Any]) -> None:
    from trainer.ui.export.files import check_name

    for other in ("--other-handedness", "--other-view"):
        if options[other[2:].replace("-", "_")] and len(options["clips"]) < 2:
            raise UsageError(tr("there is no second clip"), other, tr("give two clips"))
    if options["out"] is not None and not options["still"]:
        raise UsageError(tr("a name without a still"), "--out", tr("add --still EVENT, for example --still impact"))
    if (options["begin"] or options["end"]) and options["clip_out"] is None:
        raise UsageError(tr("only for a clip"), "--from, --to", tr("add --clip-out FILE.mp4"))
    if options["with_sound"] and options["clip_out"] is None:
        raise UsageError(tr("only for a clip"), "--with-sound", tr("add --clip-out FILE.mp4"))
    written = {
        "--out": (options["out"], PICTURE),
        "--sheet": (options["sheet"], SHEET),
        "--clip-out": (options["clip_out"], CLIP),
    }
    check_written(written, options["clips"], folder)
    for (path, kind), what in zip(written.values(), ("a still", "a sheet", "a clip"), strict=True):
        if path is not None:
            check_name(path, kind, what)
    if options["ghost"] and options["against"] is None and len(options["clips"]) < 2:
        raise UsageError(tr("a ghost of which stroke?"), "--ghost", tr("add --against NUMBER or --against best"))


# ---- from words to values


def _arrangement(options: dict[str, Any]) -> Arrangement:
    from trainer.app.review import Arrangement

    return Arrangement(
        options["align"],
        _lines(options["lines"]),
        options["ghost"],
        not options["whole_picture"],
        _instant(options["at"], "--at"),
    )


def _lines(text: str | None) -> frozenset[str] | None:
    from trainer.app.review import LINE_NAMES

    if text is None:
        return None
    names = frozenset(name.strip() for name in text.split(",") if name.strip())
    if names in ({"none"}, {"all"}):
        return frozenset(LINE_NAMES if names == {"all"} else ())
    unknown = names - set(LINE_NAMES)
    if unknown:
        known = ", ".join((*LINE_NAMES, "all", "none"))
        raise UsageError(
            tr("no such line: {unknown}", unknown=", ".join(sorted(unknown))),
            "--lines",
            tr("one or more of: {known}", known=known),
        )
    return names


def _against(text: str | None) -> Against | None:
    if text is None:
        return None
    found: dict[str, Against] = {"best": "best", "pair": "pair"}
    return found[text] if text in found else stroke_chosen(text, "--against")


def _instant(text: str | None, option: str) -> Instant | None:
    from trainer.app.review import EVENTS

    if not text or text in EVENTS:
        return text or None
    try:
        if math.isfinite(at_s := float(text)):
            return at_s
        raise ValueError
    except ValueError:
        raise UsageError(
            tr("{text} is no instant", text=text),
            option,
            tr("give seconds, or one of: {events}", events=", ".join(EVENTS)),
        ) from None


# ---- the window


def _show(folder: Path | None, context: RunContext, options: dict[str, Any]) -> None:
    """The window first: what takes long is done beside it."""
    from trainer.commands.console import CONSOLE
    from trainer.ui.drawing.window import code_loaded, open_window
    from trainer.ui.review.window import NO_DISPLAY, TITLE, review_in_window

    window = open_window(context.settings.window, TITLE)
    if window is None:
        raise NO_DISPLAY
    with closing(window):
        if code_loaded(window, "trainer.app.review"):
            from trainer.app.review import open_review

            request = _request(folder, context, options)
            words = "Reading the clip" if request.clips else "Opening the strokes"
            theme = context.settings.window.theme
            review_in_window(window, theme, words, partial(open_review, request, CONSOLE), Path.cwd())


# ---- without the window


def _write(reviewer: Reviewer, options: dict[str, Any], progress: Progress) -> None:
    from trainer.app.review import instant_s, numbers, span_s
    from trainer.commands.console import report
    from trainer.ui.export.files import path_beside
    from trainer.ui.export.review_clip import save_clip, save_picture

    playback = reviewer.session.playback
    still = _instant(options["still"], "--still")
    if still is not None:
        playback.scrub(instant_s(playback, still, "--still"))
        out = options["out"] or path_beside(Path.cwd(), f"still-{options['still']}", ".png")
        report(save_picture(reviewer, out))
    if options["clip_out"] is not None:
        span = span_s(playback, _instant(options["begin"], "--from"), _instant(options["end"], "--to"))
        report(save_clip(reviewer, options["clip_out"], span, options["speed"], options["with_sound"], progress))
    if options["sheet"] is not None:
        from trainer.ui.export.sheet import save_sheet

        report(save_sheet(reviewer, options["sheet"], progress))
    if options["numbers"]:
        if options["at"] is None and still is None:
            playback.jump("impact")
        _print(numbers(reviewer.session))


def _print(found: ReviewNumbers) -> None:
    from trainer.commands.tables import console, table

    out = console()
    out.print(tr("{title}, at {where}", title=found.title, where=found.where), soft_wrap=True, markup=False)
    rows = table(tr("reading"), tr("value"), right=("value",), narrow=True)
    for reading in found.readings:
        rows.add_row(*reading)
    out.print(rows)
    if not found.other_title:
        rows = table(tr("the stroke"), tr("value"), "", right=("value",), narrow=True)
        for row in found.stroke:
            rows.add_row(row.words, row.text, tr("fault") if row.fault else "")
        out.print(rows)
        return
    out.print(
        tr("against {other_title}, aligned {aligned}", other_title=found.other_title, aligned=found.aligned),
        soft_wrap=True,
        markup=False,
    )
    if found.why:
        out.print(found.why, soft_wrap=True, markup=False)
    rows = table(
        tr("measure"),
        tr("first"),
        tr("second"),
        tr("sure from"),
        "",
        right=("first", "second", "sure from"),
        narrow=True,
    )
    for d in found.differences:
        rows.add_row(d.words, d.text(d.first), d.text(d.second), d.text(d.smallest), tr("differs") if d.plain else "")
    out.print(rows)
