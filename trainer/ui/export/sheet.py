"""One page to compare two strokes, or to see one: pictures at top, impact and finish, and the numbers. PDF or PNG."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.feedback.signs import LIGHT, Colour
from trainer.live.practice_state import NO_ADVICE
from trainer.replay.differences import Differing, compared
from trainer.replay.frames import exact
from trainer.replay.lines import Label
from trainer.replay.numbers import numbers_of
from trainer.replay.playback import Loaded, Playback
from trainer.texts import join, tr
from trainer.ui.drawing.canvas import EM_OF_LINE, Canvas
from trainer.ui.export.files import check_name, png, write_atomically
from trainer.ui.export.pdf import POINTS, page_of
from trainer.ui.review.picture import PaneScene, draw_pane
from trainer.ui.review.placement import Placement, placements
from trainer.ui.review.reviewer import Reviewer
from trainer.worker import Progress

PAGE = (8.27, 11.69)  # inches: A4
DPI = {"png": 150, "pdf": 250}
INSTANTS = ("top", "impact", "finish")
WIDE, SPACE = 0.288, 0.008  # of the page's width: one picture, and between two
PANE = (620, 670)  # a picture's shape
WHITE: Colour = (255, 255, 255)
INK: Colour = (16, 27, 22)
SOFT: Colour = (84, 96, 90)
RULE: Colour = (184, 188, 180)
LEFT, RIGHT = 0.06, 0.94
MAX_NUMBERS = 14


class _Paper:
    """A page that is written on: places are shares of its width and, from above, of its height; letters are in points."""

    def __init__(self, dpi: int) -> None:
        self.canvas = Canvas()
        self._points = dpi / POINTS
        self.size = (round(PAGE[0] * dpi), round(PAGE[1] * dpi))
        self.surface = self.canvas.pg.Surface(self.size)
        self.surface.fill(WHITE)

    def place(self, x: float, y: float) -> tuple[float, float]:
        return x * self.size[0], y * self.size[1]

    def text(self, x: float, y: float, words: str, letters: float, ink: Colour = INK, anchor: str = "midleft") -> None:
        """No wider than there is room for."""
        room = (RIGHT if anchor == "midright" else RIGHT - x + LEFT if anchor == "midleft" else WIDE) * self.size[0]
        self.canvas.text(self.surface, words, self.place(x, y), self._line(letters), ink, anchor, room)

    def paragraph(self, y: float, words: str, letters: float) -> float:
        """Over the page's width; returns where it ends."""
        place, width = self.place(LEFT, y), (RIGHT - LEFT) * self.size[0]
        return self.canvas.paragraph(self.surface, words, place, self._line(letters), SOFT, width) / self.size[1]

    def rule(self, y: float) -> None:
        box = self.canvas.pg.Rect(
            *self.place(LEFT, y), (RIGHT - LEFT) * self.size[0], max(1, round(0.8 * self._points))
        )
        self.surface.fill(RULE, box)

    def square(self, x: float, y: float) -> None:
        """The mark of a row."""
        side = round(6 * self._points)
        box = self.canvas.pg.Rect(0, 0, side, side)
        box.center = tuple(map(round, self.place(x, y)))
        self.surface.fill(INK, box)

    def box(self, x: float, y: float) -> Any:
        """Of a picture whose upper left corner is there."""
        width = round(WIDE * self.size[0])
        return self.canvas.pg.Rect(*map(round, self.place(x, y)), width, round(width * PANE[1] / PANE[0]))

    def _line(self, letters: float) -> float:
        """A line's height, px."""
        return letters * self._points / EM_OF_LINE


def save_sheet(reviewer: Reviewer, path: Path, progress: Progress | None = None) -> str:
    """Writes it; returns the line that says so. Raises UsageError when the name will not do or it cannot be written, and
    Stopped when ``progress`` says so."""
    check_name(path, (".pdf", ".png"), tr("a sheet"))
    told = progress or Progress()
    told.tell(0.1)
    drawn, _ = page(reviewer, path.suffix.lower()[1:])
    told.tell(0.9)
    write_atomically(path, drawn)
    return tr("kept {path}", path=path)


def page(reviewer: Reviewer, kind: str) -> tuple[bytes, list[Label]]:
    """The page as bytes of a "pdf" or "png", and the labels that its pictures carry."""
    paper = _Paper(DPI[kind])
    labels = _fill(paper, reviewer, reviewer.session.playback)
    drawn = png(paper.surface, Path(kind))
    return (page_of(drawn, DPI[kind]) if kind == "pdf" else drawn), labels


def _fill(paper: _Paper, reviewer: Reviewer, playback: Playback) -> list[Label]:
    other = playback.other if playback.other is not None and playback.pair is not None else None
    shape = paper.box(0.0, 0.0).size
    layout, playback.layout = playback.layout, "beside" if other is not None else "one"
    try:
        ours, theirs = placements(playback, shape)
    finally:
        playback.layout = layout
    both = other is not None and theirs is not None
    paper.text(LEFT, 0.038, tr("Two strokes side by side") if both else tr("One stroke"), 17)
    y = 0.06
    if reviewer.session.why:
        y = paper.paragraph(y, reviewer.session.why, 9)
    labels = _row(paper, playback.main, ours, playback.show, y + 0.006, reviewer.session.main.title)
    if both:
        assert other is not None and theirs is not None and reviewer.session.other is not None  # noqa: PT018
        title = reviewer.session.other.title
        if playback.pair is not None and playback.pair.mirrored:
            title = join(", ", (title, tr("mirrored")))
        labels += _row(paper, other, theirs, playback.show, y + 0.29, title)
        rows = compared(playback.main.stroke_clip.record, other.stroke_clip.record, reviewer.session.own_measures())
        _differences(paper, rows, y + 0.59)
    else:
        _numbers(paper, playback.main, y + 0.32)
    paper.text(LEFT, 0.974, NO_ADVICE, 7.5, SOFT)
    return labels


def _row(paper: _Paper, loaded: Loaded, placement: Placement, show: set[str], top: float, title: str) -> list[Label]:
    """A stroke's pictures at the instants, with its name above."""
    paper.text(LEFT, top + 0.010, title, 11)
    if loaded.stroke_clip.note:
        paper.text(RIGHT, top + 0.010, loaded.stroke_clip.note, 7.5, SOFT, "midright")
    labels: list[Label] = []
    for k, word in enumerate(INSTANTS):
        box = paper.box(LEFT + k * (WIDE + SPACE), top + 0.022)
        middle, below = LEFT + k * (WIDE + SPACE) + WIDE / 2, box.bottom / paper.size[1]
        when = loaded.tracked.event_s(word)
        if when is None:
            words = tr("{word} not seen", word=word)
            paper.text(middle, box.centery / paper.size[1], words, 10, SOFT, "center")
        else:
            frames = loaded.stroke_clip.frames
            scene = PaneScene(loaded, exact(frames, frames.nearest(when)), placement, show)
            paper.surface.set_clip(box)
            labels += draw_pane(paper.canvas, paper.surface, box, scene, LIGHT)
            paper.surface.set_clip(None)
        paper.text(middle, below + 0.012, word, 10, INK, "center")
    return labels


def _differences(paper: _Paper, rows: tuple[Differing, ...], top: float) -> None:
    """The numbers of both, what differs by more than can be mistaken in full ink with a mark."""
    heads = ("", tr("first"), tr("second"), tr("difference"), tr("smallest sure one"))
    xs = (0.09, 0.44, 0.57, 0.72, RIGHT)
    for x, head in zip(xs, heads, strict=True):
        paper.text(x, top, head, 8.5, SOFT, "midright")
    paper.rule(top + 0.009)
    y = top + 0.020
    for row in sorted(rows, key=lambda r: (not r.plain, -r.standardised))[:MAX_NUMBERS]:
        if row.plain:
            paper.square(0.07, y)
        cells = (row.words, row.text(row.first), row.text(row.second), row.text(row.difference), row.text(row.smallest))
        for x, cell in zip(xs, cells, strict=True):
            text = cell.replace("-", "−") if x != xs[0] else cell
            paper.text(x, y, text, 9.5, INK if row.plain else SOFT, "midleft" if x == xs[0] else "midright")
        y += 0.0185
    paper.rule(y - 0.006)
    paper.square(0.07, y + 0.008)
    paper.text(0.09, y + 0.008, tr("differs by more than the method can mistake (95 %)"), 8, SOFT)
    if not rows:
        paper.text(LEFT, top + 0.022, tr("no measure was seen surely in both"), 9.5)


def _numbers(paper: _Paper, main: Loaded, top: float) -> None:
    y = top
    for row in numbers_of(main.stroke_clip.record, main.stroke_clip.faults):
        ink = INK if row.fault else SOFT
        if row.fault:
            paper.square(0.07, y)
        paper.text(0.09, y, row.words, 10, ink)
        paper.text(0.57, y, row.text, 10, ink, "midright")
        y += 0.0225
    paper.rule(y - 0.008)
    paper.square(0.07, y + 0.008)
    paper.text(0.09, y + 0.008, tr("a fault by this student's limits"), 8, SOFT)
