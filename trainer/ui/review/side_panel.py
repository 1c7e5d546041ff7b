"""The column beside the picture: the verdict with the stroke's numbers, or what differs between two strokes."""

from __future__ import annotations

from typing import Any

from trainer.feedback.signs import Theme, result_sign
from trainer.replay.numbers import numbers_of
from trainer.texts import tr
from trainer.ui.drawing.canvas import Canvas, Surface
from trainer.ui.review.scene import LEAST_PX, Scene

# Shares of the window's height.
LETTERS = 0.030
SIGN_LETTERS = 0.085
MARK = 0.11
ROW = 0.047
COLUMN = 0.62
MAX_ROWS = 9
WORDS = 0.78  # a measure's name in its row; where it were smaller than may be, the rows stand in two columns
TWO_COLUMNS, COLUMN_GAP = 520, 24  # px: what two of them need, and between them
TWO_SHARE = 0.76  # of one of them is the name's


def draw_numbers(canvas: Canvas, on: Surface, scene: Scene, theme: Theme, height: int) -> None:
    """The verdict, large, and the stroke's numbers; a block of colour beside what it was faulted for. height: the window's."""
    pg, box, main = canvas.pg, on.get_rect(), scene.playback.main
    clip = main.stroke_clip
    sign = result_sign(clip.record, clip.faults, clip.too_close)
    block = pg.Rect(box.left, box.top, round(MARK * height), round(MARK * height))
    colour = {"good": theme.good, "fault": theme.fault, "plain": theme.plain}[sign.kind]
    pg.draw.rect(on, colour, block, border_radius=8)
    canvas.mark(on, block, sign.kind, (255, 255, 255))
    x, wide = block.right + 12, box.right - block.right - 12 - scene.corner_px
    word = canvas.text(on, sign.word, (x, box.top), SIGN_LETTERS * height, theme.text, width=wide)
    canvas.text(on, sign.detail, (x, word.bottom), LETTERS * height, theme.soft, width=wide)
    y = block.bottom + 0.02 * height
    if main.stroke_clip.note:
        y = _wrapped(canvas, on, main.stroke_clip.note, box, y, theme, height)
    rows = numbers_of(main.stroke_clip.record, main.stroke_clip.faults)
    line, columns, high = min(ROW * height, (box.bottom - y) / max(1, len(rows))), 1, box.bottom - y
    if line * WORDS < LEAST_PX and box.width >= TWO_COLUMNS:
        columns = 2
        line = min(ROW * height, high / -(-len(rows) // 2))
    wide, half, top = min(box.width // columns, round(COLUMN * height)), -(-len(rows) // columns), y
    room = (wide - COLUMN_GAP) * TWO_SHARE if columns > 1 else wide * 0.66
    size = canvas.fitting([row.words for row in rows], line * WORDS, room) if columns > 1 else line * WORDS
    for number, row in enumerate(rows):
        left, y = box.left + number // half * wide, top + number % half * line
        right = left + wide - (COLUMN_GAP if columns > 1 else 0)
        canvas.text(on, row.words, (left, y), size, theme.soft, width=room)
        value = canvas.text(on, row.text, (right, y), line * 0.85, theme.text, "topright")
        if row.fault:
            side = max(10, round(line * 0.6))
            mark = pg.Rect(value.left - side - 6, value.centery - side // 2, side, side)
            pg.draw.rect(on, theme.fault, mark)
            canvas.mark(on, mark, "fault", (255, 255, 255))


def draw_differences(canvas: Canvas, on: Surface, scene: Scene, theme: Theme, height: int) -> None:
    """What differs by more than can be mistaken: this stroke, the other one."""
    playback = scene.playback
    box, size = on.get_rect(), LETTERS * height
    y: float = box.top
    by = tr("by phase") if playback.aligned_on == "phase" else tr("on {aligned_on}", aligned_on=playback.aligned_on)
    head = tr("ghost: {other_title}", other_title=scene.other_title) if playback.layout == "ghost" else ""
    for words in filter(None, (head, tr("aligned {by}", by=by))):
        y = canvas.text(on, words, (box.left, y), size * 0.85, theme.soft, width=box.width - scene.corner_px).bottom
    y = max(y, scene.corner_px)
    if scene.why:
        y = _wrapped(canvas, on, scene.why, box, y + 4, theme, height)
    y = canvas.text(on, tr("What differs"), (box.left, y + 4), size * 1.2, theme.text, width=box.width).bottom + 4
    rows = list(scene.differences)[:MAX_ROWS]
    if not rows:
        _wrapped(canvas, on, tr("nothing by more than the measuring itself varies"), box, y, theme, height)
        return
    sides = tr("this one  |  the ghost") if playback.layout == "ghost" else tr("left  |  right")
    y = canvas.text(on, sides, (box.left, y), size * 0.85, theme.soft, width=box.width).bottom + 4
    step = min(size * 2.3, (box.bottom - y) / len(rows))
    for row in rows:
        canvas.text(on, row.words, (box.left, y), step * 0.40, theme.soft, width=box.width)
        values = tr("{text}  |  {text2}", text=row.text(row.first), text2=row.text(row.second)).replace("-", "−")
        canvas.text(on, values, (box.left, y + step * 0.40), step * 0.50, theme.text, width=box.width)
        y += step


def _wrapped(canvas: Canvas, on: Surface, words: str, box: Any, y: float, theme: Theme, height: int) -> float:
    """A sentence in as many lines as it takes; returns where the next thing may begin."""
    size = LETTERS * 0.9 * height
    return canvas.paragraph(on, words, (box.left, y), size, theme.text, box.width) + 0.3 * size
