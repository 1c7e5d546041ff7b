"""Where everything of a page stands, for a window's size and a scale. Nothing that can be pressed is less than 44 px high."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from trainer.ui.drawing.canvas import Canvas
from trainer.ui.start.hints import in_window
from trainer.ui.start.page import (
    Button,
    Buttons,
    Choice,
    Column,
    Columns,
    Element,
    Field,
    Page,
    Picture,
    Slides,
    Table,
    Words,
)
from trainer.ui.start.places import TEXT, Item, Layout

# px at scale 1; letters are the height of a line.
MARGIN, GAP = 16, 8
TARGET = 46
TITLE, WHO, HEAD, SMALL = 38, 54, 22, 18  # WHO: of the start page, who practises
LARGE = 92
FIELD_LABEL = 190
COLUMN_WIDTH = 215
BUTTON_WIDTH = 240
WIDEST = 1300  # a line of text longer than this is hard to read
CELL_GAP = 18
SLIDE_WIDTH, AXIS = 400, 50
FOOT_SHARE = 0.3  # of the window's height at most: a foot that is higher stands at the end of the body


def wrapped(canvas: Canvas, text: str, size: float, width: float) -> list[str]:
    """In lines of at most that width; a word that is longer, such as a path, is broken."""
    lines: list[str] = []
    for line in canvas.wrapped(text, size, width):
        while len(line) > 1 and canvas.width(line, round(size)) > width:
            fits = len(line) - 1
            while fits > 1 and canvas.width(line[:fits], round(size)) > width:
                fits -= 1
            lines.append(line[:fits])
            line = line[fits:]
        lines.append(line)
    return lines


class _Setter:
    """Sets one page."""

    def __init__(self, canvas: Canvas, size: tuple[int, int], scale: float) -> None:
        self.canvas, self.scale = canvas, scale
        self.width, self.height = size
        self.left = self.px(MARGIN)
        self.wide = min(self.width - 2 * self.left, self.px(WIDEST))
        self.y = 0
        self.items: list[Item] = []

    def px(self, value: float) -> int:
        return round(value * self.scale)

    def rect(self, x: float, y: float, w: float, h: float) -> Any:
        return self.canvas.pg.Rect(round(x), round(y), round(w), round(h))

    # ---- the head: title, way back, what is beside it; it does not scroll

    def head(self, page: Page, back: Button) -> int:
        high, gap = self.px(TARGET), self.px(GAP)
        x, y, right = self.left, self.px(MARGIN) // 2, self.left + self.wide
        for button in reversed(page.beside):
            wide = self.canvas.width(button.words, self.px(TEXT)) + self.px(32)
            right -= round(wide)
            self._button(button, self.rect(right, y, wide, high), fixed=True)
            right -= gap
        self.items.reverse()
        if not page.home:
            wide = self.canvas.width(back.words, self.px(TEXT)) + self.px(32)
            self.items.insert(0, self._made_button(back, self.rect(x, y, wide, high), fixed=True))
            x += round(wide) + 2 * gap
        letters = self.px(WHO if page.home else TITLE)
        box = self.rect(x, y, max(10, right - x), max(high, letters))
        self.items.append(Item("head", box, (page.title,), letters=letters, fixed=True))
        return int(y + box.height + gap)

    # ---- the body

    def body(self, element: Element, values: Any) -> None:
        if isinstance(element, Words):
            self._words(element)
        elif isinstance(element, Buttons):
            self._grid(element)
        elif isinstance(element, Columns):
            self._columns(element)
        elif isinstance(element, Field):
            self._field(element, values.get(element.name, element.value))
        elif isinstance(element, Choice):
            self._choice(element, values.get(element.name, element.value))
        elif isinstance(element, Table):
            self._table(element)
        elif isinstance(element, Slides):
            self._slides(element)
        elif isinstance(element, Picture):
            high = min(self.px(element.height), self.height - self.px(130))
            self.items.append(Item("picture", self.rect(self.left, self.y, self.wide, high), of=element))
            self.y += high + self.px(GAP)

    def _words(self, element: Words) -> None:
        letters = self.px({"plain": TEXT, "soft": SMALL, "head": HEAD}[element.look])
        lines = tuple(wrapped(self.canvas, in_window(element.text), letters, self.wide))
        high = round(len(lines) * letters * 1.15)
        box = self.rect(self.left, self.y, self.wide, high)
        self.items.append(Item("words", box, lines, letters=letters, soft=element.look == "soft"))
        self.y += high + self.px(GAP)

    def _made_button(self, button: Button, box: Any, fixed: bool = False) -> Item:
        letters = self.px(HEAD * 1.35 if button.look == "large" else TEXT)
        inner = box.width - self.px(20)
        lines = tuple(wrapped(self.canvas, button.words, letters, inner)) or ("",)
        return Item("button", box, lines, button, letters=letters, fixed=fixed)

    def _button(self, button: Button, box: Any, fixed: bool = False) -> Item:
        self.items.append(self._made_button(button, box, fixed))
        return self.items[-1]

    def _high(self, button: Button, wide: float) -> int:
        """A button's height at this width."""
        item = self._made_button(button, self.rect(0, 0, wide, 0))
        small = self.px(SMALL)
        notes = len(wrapped(self.canvas, button.note, small, wide - self.px(20))) if button.note else 0
        need = len(item.lines) * item.letters + notes * small + self.px(14)
        return max(self.px(LARGE if button.look == "large" else TARGET), round(need))

    def foot(self, buttons: tuple[Button, ...], top: int, bottom: int) -> int:
        """At the body's end, where it scrolls only if it would take too much of the window. top, bottom: of what is between
        title and last line. Returns where the part that scrolls ends.
        """
        first, begun = len(self.items), self.y
        self._grid(Buttons(buttons))
        high = self.y - begun
        if not buttons or high > FOOT_SHARE * self.height:
            return bottom
        self.y = begun
        at = min(top + begun, bottom - high)
        self.items[first:] = [replace(one, box=one.box.move(0, at - begun), fixed=True) for one in self.items[first:]]
        return at

    def _grid(self, element: Buttons) -> None:
        if not element.buttons:
            return
        gap = self.px(GAP)
        rows = all(button.look == "row" for button in element.buttons)
        fit = 1 if rows else max(1, (self.wide + gap) // (self.px(BUTTON_WIDTH) + gap))
        columns = max(1, min(fit, element.columns))
        if any(button.look == "large" for button in element.buttons):  # it may be as wide as there is room
            columns = min(columns, len(element.buttons))
        wide = (self.wide - (columns - 1) * gap) / columns
        for start in range(0, len(element.buttons), columns):
            row = element.buttons[start : start + columns]
            high = max(self._high(button, wide) for button in row)
            for i, button in enumerate(row):
                self._button(button, self.rect(self.left + i * (wide + gap), self.y, wide, high))
            self.y += high + gap

    def _columns(self, element: Columns) -> None:
        gap = self.px(GAP)
        count = max(1, min(len(element.columns), (self.wide + gap) // (self.px(COLUMN_WIDTH) + gap)))
        wide = (self.wide - (count - 1) * gap) / count
        for start in range(0, len(element.columns), count):
            ends = [
                self._column(column, self.left + i * (wide + gap), wide)
                for i, column in enumerate(element.columns[start : start + count])
            ]
            self.y = max(ends)

    def _column(self, column: Column, x: float, wide: float) -> int:
        y, letters = self.y, self.px(SMALL)
        box = self.rect(x, y, wide, letters * 1.3)
        self.items.append(Item("words", box, (column.heading,), letters=letters, soft=True))
        y += box.height
        for button in column.buttons:
            high = self._high(button, wide)
            self._button(button, self.rect(x, y, wide, high))
            y += high + self.px(GAP) * 3 // 4
        return int(y) + self.px(GAP) // 2

    def _label(self, text: str) -> tuple[float, float]:
        """(where what is labelled begins, how wide it may be)."""
        letters, label = self.px(TEXT), self.px(FIELD_LABEL)
        if self.wide < 2.2 * label:
            self.items.append(Item("label", self.rect(self.left, self.y, self.wide, letters), (text,), letters=letters))
            self.y += round(letters * 1.15)
            return self.left, self.wide
        box = self.rect(self.left, self.y, label - self.px(GAP), self.px(TARGET))
        lines = tuple(wrapped(self.canvas, text, letters, box.width))
        self.items.append(Item("label", box, lines, letters=letters))
        return self.left + label, self.wide - label

    def _field(self, element: Field, value: str) -> None:
        x, wide = self._label(element.label)
        box = self.rect(x, self.y, min(wide, self.px(620)), self.px(TARGET))
        self.items.append(Item("field", box, of=element, value=value, letters=self.px(TEXT)))
        self.y += box.height + self.px(GAP)

    def _choice(self, element: Choice, value: str) -> None:
        x, wide = self._label(element.label)
        gap, letters, at, high = self.px(GAP), self.px(TEXT), x, self.px(TARGET)
        for option, words in element.options:
            need = max(self.canvas.width(words, letters) + self.px(28), high)
            if at > x and at + need > x + wide:
                at, self.y = x, self.y + high + gap
            box = self.rect(at, self.y, min(need, wide), high)
            chosen = "chosen" if option == value else ""
            self.items.append(Item("option", box, (words,), (element, option), chosen, letters))
            at += need + gap
        self.y += high + gap

    def _slides(self, element: Slides) -> None:
        gap, high, axis = 2 * self.px(GAP), self.px(TARGET), self.px(AXIS)
        count = max(1, min(len(element.slides), int((self.wide + gap) // (self.px(SLIDE_WIDTH) + gap))))
        wide = (self.wide - (count - 1) * gap) / count
        for number, slide in enumerate(element.slides):
            x = self.left + (number % count) * (wide + gap)
            self.items.append(Item("switch", self.rect(x, self.y, high, high), of=slide))
            for k, (words, letters) in enumerate(((slide.label, self.px(TEXT)), (slide.told, self.px(SMALL)))):
                box = self.rect(
                    x + high + self.px(GAP), self.y + k * self.px(TEXT + 2), wide - high - self.px(GAP), letters
                )
                lines = tuple(wrapped(self.canvas, words, letters, box.width)[:1])
                self.items.append(Item("words", box, lines, letters=letters, soft=bool(k) or not slide.on))
            self.items.append(Item("slide", self.rect(x, self.y + high, wide, axis), of=slide))
            if number % count == count - 1 or number == len(element.slides) - 1:
                self.y += high + axis + self.px(GAP)

    def _table(self, element: Table) -> None:
        letters, gap = self.px(SMALL), self.px(CELL_GAP)
        rows = [element.heads, *element.rows] if any(element.heads) else list(element.rows)
        if not rows:
            return
        widths = self._widths([list(row) for row in rows], letters, gap)
        for number, row in enumerate(rows):
            cells = [wrapped(self.canvas, text, letters, w + 1) or [""] for text, w in zip(row, widths, strict=True)]
            high = round(max(map(len, cells)) * letters * 1.1) + self.px(4)
            x = float(self.left)
            for i, (lines, w) in enumerate(zip(cells, widths, strict=True)):
                value = "right" if i in element.right else ""
                soft = number == 0 and any(element.heads)
                box = self.rect(x, self.y, w, high)
                self.items.append(Item("table", box, tuple(lines), value=value, letters=letters, soft=soft))
                x += w + gap
            self.y += high
        self.y += self.px(GAP)

    def _widths(self, rows: list[list[str]], letters: int, gap: int) -> list[float]:
        """As wide as the columns ask for; where that is too wide, the widest give way."""
        columns = zip(*rows, strict=True)
        widths = [max(self.canvas.width(text, letters) for text in column) + 2 for column in columns]
        room = self.wide - gap * (len(widths) - 1)
        while sum(widths) > room + 1:
            widest = max(widths)
            if widest <= self.px(40):
                break
            second = max([w for w in widths if w < widest - 1], default=0.0)
            same = [i for i, w in enumerate(widths) if w >= widest - 1]
            give = min(widest - second, (sum(widths) - room) / len(same))
            for i in same:
                widths[i] -= give
        return widths


def laid_out(canvas: Canvas, page: Page, values: Any, size: tuple[int, int], scale: float, back: Button) -> Layout:
    """size: of the window, px; back: the button that leads back."""
    setter = _Setter(canvas, size, scale)
    top = setter.head(page, back)
    for element in page.body:
        setter.body(element, values)
    bottom = setter.foot(page.foot, top, size[1] - round((SMALL + GAP) * scale))
    return Layout(tuple(setter.items), top, bottom, setter.y, scale)
