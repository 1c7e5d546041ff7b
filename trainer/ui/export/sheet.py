"""One page to compare two strokes, or to see one: pictures at top, impact and finish, and the numbers. PDF or PNG."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from trainer.feedback.signs import LIGHT
from trainer.live.practice_state import NO_ADVICE
from trainer.output import SHEET, write_output
from trainer.replay.derived_signals import event_words
from trainer.replay.differences import Differing, compared
from trainer.replay.frames import exact
from trainer.replay.lines import Label
from trainer.replay.numbers import numbers_of
from trainer.replay.playback import Loaded, Playback
from trainer.texts import shown, tr
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.export.files import check_name, pixels
from trainer.ui.review.picture import PaneScene, draw_pane
from trainer.ui.review.placement import Placement, placements
from trainer.ui.review.reviewer import Reviewer
from trainer.worker import Progress

PAGE = (8.27, 11.69)  # inches: A4
DPI = 150
INSTANTS = ("top", "impact", "finish")
PANE = (620, 670)  # px of one picture: about 250 to the inch on paper
INK, SOFT, RULE = "#101b16", "#424e48", "#b8bcb4"
STYLE: Any = {"font.family": "DejaVu Sans", "text.color": INK, "pdf.fonttype": 42, "path.simplify": False}
LONG_LABEL = 34  # characters that have room before the first number
MAX_NUMBERS = 14


def save_sheet(reviewer: Reviewer, path: Path, progress: Progress | None = None) -> str:
    """Writes it; returns the line that says so. Raises UsageError when the name will not do or it cannot be written, and
    Stopped when ``progress`` says so."""
    check_name(path, SHEET, tr("a sheet"))
    told = progress or Progress()
    told.tell(0.1)  # matplotlib, most of the time, tells nothing
    drawn, _ = page(reviewer, path.suffix.lower()[1:])
    told.tell(0.9)
    write_output(path, drawn, SHEET)
    return tr("kept {path}", path=path)


def page(reviewer: Reviewer, kind: str) -> tuple[bytes, list[Label]]:
    """The page as bytes of a "pdf" or "png", and the labels that its pictures carry."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    playback = reviewer.session.playback
    with rc_context(STYLE):
        figure: Any = Figure(figsize=PAGE, dpi=DPI, facecolor="white")
        labels = _fill(figure, reviewer, playback)
        out = io.BytesIO()
        # No dates or names of programs inside: the same strokes give the same file.
        metadata = {"CreationDate": None, "Producer": None, "Creator": None} if kind == "pdf" else {"Software": None}
        figure.savefig(out, format=kind, metadata=metadata)
    return out.getvalue(), labels


def _say(on: Any, x: float, y: float, words: str, **more: Any) -> None:
    """In the reader's language, on a figure or axes."""
    on.text(x, y, shown(words), **more)


def _fill(figure: Any, reviewer: Reviewer, playback: Playback) -> list[Label]:
    other = playback.other if playback.other is not None and playback.pair is not None else None
    layout, playback.layout = playback.layout, "beside" if other is not None else "one"
    try:
        ours, theirs = placements(playback, PANE)
    finally:
        playback.layout = layout
    both = other is not None and theirs is not None
    _say(
        figure,
        0.06,
        0.962,
        tr("Two strokes side by side") if both else tr("One stroke"),
        fontsize=17,
        weight="bold",
        va="center",
    )
    y = 0.94
    for line in _lines(reviewer.session.why, 100):
        _say(figure, 0.06, y, line, fontsize=9, color=SOFT, va="top")
        y -= 0.015
    labels = _row(figure, playback.main, ours, playback.show, y - 0.006, reviewer.session.main.title)
    if both:
        assert other is not None and theirs is not None and reviewer.session.other is not None  # noqa: PT018
        mirrored = tr(" (mirrored)") if playback.pair is not None and playback.pair.mirrored else ""
        labels += _row(figure, other, theirs, playback.show, y - 0.29, reviewer.session.other.title + mirrored)
        rows = compared(playback.main.stroke_clip.record, other.stroke_clip.record, reviewer.session.own_measures())
        _differences(figure, rows, y - 0.59)
    else:
        _numbers(figure, playback.main, y - 0.32)
    _say(figure, 0.06, 0.022, NO_ADVICE, fontsize=7.5, color=SOFT)
    return labels


def _row(figure: Any, loaded: Loaded, placement: Placement, show: set[str], top: float, title: str) -> list[Label]:
    """A stroke's pictures at the instants, with its name above."""
    _say(figure, 0.06, top - 0.004, title, fontsize=11, weight="bold", va="top")
    if loaded.stroke_clip.note:
        _say(figure, 0.94, top - 0.004, loaded.stroke_clip.note, fontsize=7.5, color=SOFT, va="top", ha="right")
    labels: list[Label] = []
    canvas = Canvas()
    wide = 0.288
    tall = wide * PAGE[0] / PAGE[1] * PANE[1] / PANE[0]
    for k, word in enumerate(INSTANTS):
        axes = figure.add_axes((0.06 + k * (wide + 0.008), top - 0.022 - tall, wide, tall))
        axes.set_axis_off()
        when = loaded.tracked.event_s(word)
        if when is None:
            _say(
                axes,
                0.5,
                0.5,
                tr("{word} not seen", word=event_words(word)),
                ha="center",
                va="center",
                fontsize=10,
                color=SOFT,
            )
        else:
            picture, said = _picture(canvas, loaded, loaded.stroke_clip.frames.nearest(when), placement, show)
            axes.imshow(picture, interpolation="none", aspect="auto")
            labels += said
        x, words = 0.06 + k * (wide + 0.008) + wide / 2, event_words(word)
        _say(figure, x, top - 0.026 - tall, words, fontsize=10, ha="center", va="top")
    return labels


def _picture(
    canvas: Canvas, loaded: Loaded, frame: int, placement: Placement, show: set[str]
) -> tuple[Any, list[Label]]:
    pg = canvas.pg
    surface = pg.Surface(PANE)
    scene = PaneScene(loaded, exact(loaded.stroke_clip.frames, frame), placement, show)
    labels = draw_pane(canvas, surface, surface.get_rect(), scene, LIGHT)
    return pixels(surface)[:, :, ::-1], labels


def _differences(figure: Any, rows: tuple[Differing, ...], top: float) -> None:
    """The numbers of both, what differs by more than can be mistaken in bold with a mark."""
    heads = ("", tr("first"), tr("second"), tr("difference"), tr("smallest sure one"))
    xs = (0.09, 0.44, 0.57, 0.72, 0.94)
    for x, head in zip(xs, heads, strict=True):
        _say(figure, x, top, head, fontsize=8.5, color=SOFT, ha="left" if x == xs[0] else "right")
    _rule(figure, top - 0.006)
    y = top - 0.022
    for row in sorted(rows, key=lambda r: (not r.plain, -r.standardised))[:MAX_NUMBERS]:
        weight = "bold" if row.plain else "normal"
        if row.plain:
            _say(figure, 0.065, y, "■", fontsize=8)
        cells = (row.words, row.text(row.first), row.text(row.second), row.text(row.difference), row.text(row.smallest))
        for x, cell in zip(xs, cells, strict=True):
            if x == xs[0]:
                _say(figure, x, y, cell, fontsize=9.5 * min(1.0, LONG_LABEL / len(cell)), weight=weight)
            else:
                _say(figure, x, y, cell.replace("-", "−"), fontsize=9.5, weight=weight, ha="right")
        y -= 0.0185
    _rule(figure, y + 0.011)
    _say(figure, 0.06, y - 0.006, tr("■ differs by more than the method can mistake (95 %)"), fontsize=8, color=SOFT)
    if not rows:
        _say(figure, 0.06, top - 0.022, tr("no measure was seen surely in both"), fontsize=9.5)


def _numbers(figure: Any, main: Loaded, top: float) -> None:
    y = top
    for row in numbers_of(main.stroke_clip.record, main.stroke_clip.faults):
        if row.fault:
            _say(figure, 0.065, y, "■", fontsize=8)
        _say(figure, 0.09, y, row.words, fontsize=10)
        _say(figure, 0.57, y, row.text, fontsize=10, ha="right", weight="bold" if row.fault else "normal")
        y -= 0.0225
    _rule(figure, y + 0.011)
    _say(figure, 0.06, y - 0.006, tr("■ a fault by this student's limits"), fontsize=8, color=SOFT)


def _rule(figure: Any, y: float) -> None:
    from matplotlib.lines import Line2D

    figure.add_artist(Line2D((0.06, 0.94), (y, y), color=RULE, linewidth=0.8))


def _lines(words: str, width: int) -> list[str]:
    import textwrap

    return textwrap.wrap(shown(words), width)
