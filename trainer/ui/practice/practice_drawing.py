"""Drawn while practising: the drill's lines, what arms may order, the question how it felt, the mark on the floor."""

from __future__ import annotations

from typing import Any, Callable

from trainer.domain.player_frame import Point
from trainer.feedback.signs import Theme
from trainer.live.display_types import DrillView, GestureView, GroundMark
from trainer.texts import capital, tr
from trainer.ui.drawing.canvas import Canvas, Place, Surface

# Shares of the window's height.
STROKE_LETTERS = 0.062
LINE_LETTERS = 0.040
HINT_LETTERS = 0.045  # who raises an arm stands at the ball: capitals are a thirtieth of the window's height
QUESTIONS = {
    "feel": (tr("How did it feel?"), tr("lead hand up: good    trail hand up: not good    (or arrow keys)")),
    "guess": (
        tr("Short, right or long?"),
        tr("trail hand up: short    both hands up: right    lead hand up: long    (or arrow keys)"),
    ),
}
QUESTION_LETTERS = 0.115
ANSWER_LETTERS = 0.052


def drill_lines(canvas: Canvas, on: Surface, box: Any, drill: DrillView, mark: GroundMark | None, theme: Theme) -> int:
    """Under the phase: which stroke, how it goes, what follows, how far back. Returns where the lines end."""
    height = on.get_height()
    y = box.top
    if drill.distance:
        what, colon, far = drill.distance.partition(": ")
        if colon:
            y = canvas.text(on, what, (box.left, y), LINE_LETTERS * height, theme.soft, width=box.width).bottom
        words = far if colon else what
        y = canvas.text(on, words, (box.left, y), STROKE_LETTERS * height, theme.text, width=box.width).bottom
    size = STROKE_LETTERS * height
    if drill.silent:  # a filled ring beside the words: known without colour, and from afar
        radius = size * 0.28
        canvas.pg.draw.aacircle(
            on, theme.plain, (box.left + radius, y + size / 2), radius, max(3, round(radius * 0.45))
        )
        canvas.text(on, drill.stroke, (box.left + radius * 3, y), size, theme.text, width=box.width - radius * 3)
        y += round(size)
    else:
        y = canvas.text(on, drill.stroke, (box.left, y), size, theme.text, width=box.width).bottom
    unknown = tr("no mark on the floor: {reason}", reason=mark.reason) if mark is not None and mark.reason else ""
    for line in (drill.last, drill.tally, drill.follows, unknown):
        if line:
            y = canvas.text(on, line, (box.left, y), LINE_LETTERS * height, theme.soft, width=box.width).bottom
    return int(y)


def hint(canvas: Canvas, on: Surface, box: Any, gestures: GestureView, answer: str, theme: Theme) -> None:
    """What arms may order, in one line; while a position is held, its order and a bar that fills; after an order, what it came
    to.
    """
    size = HINT_LETTERS * on.get_height()
    if gestures.holding is None and answer:
        canvas.text(on, capital(answer), (box.left, box.centery), size, theme.text, "midleft", box.width)
        return
    if gestures.holding is None:
        canvas.text(on, gestures.hint, (box.left, box.centery), size, theme.soft, "midleft", box.width)
        return
    words, share = gestures.holding
    told = canvas.text(on, words, (box.left, box.centery), size * 1.1, theme.text, "midleft", box.width * 0.5)
    bar = canvas.pg.Rect(told.right + round(size), box.top, round(box.width * 0.4), box.height)
    canvas.bar(on, bar, share, theme)


def question(canvas: Canvas, on: Surface, strip: Any, theme: Theme, asked: str) -> None:
    """In the result's place, before it is shown. asked: a key of QUESTIONS."""
    words, answers = QUESTIONS[asked]
    height = on.get_height()
    canvas.pg.draw.rect(on, theme.panel, strip, border_radius=strip.height // 12)
    x, wide = strip.left + round(0.03 * height), strip.width - round(0.06 * height)
    word = canvas.text(
        on, words, (x, strip.top + strip.height * 0.08), QUESTION_LETTERS * height, theme.text, width=wide
    )
    canvas.text(on, answers, (x, word.bottom), ANSWER_LETTERS * height, theme.soft, width=wide)


def ground_mark(
    canvas: Canvas,
    on: Surface,
    mark: GroundMark,
    label: str,
    place: Callable[[Point], Place],
    scale: float,
    theme: Theme,
) -> None:
    """A post on the floor where the putter turns back, joined to the ball by a thin line; nothing where it is not known.

    place: from the player's frame to the surface, px; scale: px of the surface for one of the picture.
    """
    if mark.at is None or mark.ball is None:
        return

    at, ball = place(mark.at), place(mark.ball)
    tall = max(10.0, 2.2 * mark.diameter_px * scale)
    thick = max(2.0, 2.5 * scale)
    canvas.line(on, (ball[0], at[1]), at, theme.text, max(1.0, thick * 0.4))
    canvas.line(on, (at[0], at[1] + tall * 0.3), (at[0], at[1] - tall * 0.7), theme.plain, thick * 1.6)
    size = max(14.0, 0.030 * on.get_height())
    below = at[1] + tall * 0.3 + size * 0.1
    for shift, colour in (((1, 1), (10, 14, 12)), ((0, 0), (250, 250, 245))):
        canvas.text(on, label, (at[0] + shift[0], below + shift[1]), size, colour, "midtop")
