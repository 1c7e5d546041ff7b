"""Draws a page of the start window on any surface."""

from __future__ import annotations

from typing import Any

from trainer.feedback.signs import THEMES, Theme
from trainer.ui.drawing.canvas import Canvas, Surface, between
from trainer.ui.start import texts
from trainer.ui.start.hints import in_window
from trainer.ui.start.page import Button, Buttons, Goes, Page, Shown, Values
from trainer.ui.start.page_layout import GAP, SMALL, laid_out, wrapped
from trainer.ui.start.places import GRIP, Item, Layout

USUAL = (1280, 720)  # px of a window: at scale 1 up to here
RING = 3  # px of the frame around what has the focus


def _back(_: Values) -> Goes:
    return Goes("back")


BACK = Button(texts.BACK, _back)


def leave_page() -> Page:
    """Asked before the window is closed by a key."""
    buttons = (Button(texts.CLOSE, lambda _: Goes("quit")), Button(texts.STAY, _back))
    return Page(texts.CLOSE_QUESTION, (Buttons(buttons),))


def grown(size: tuple[int, int]) -> float:
    """A large window has larger letters; a small one has none smaller than they are made for."""
    return max(1.0, min(size[0] / USUAL[0], size[1] / USUAL[1]))


class PageView:
    """theme: light or dark; scale: of letters and all else, over what the window's own size gives."""

    def __init__(self, theme: str = "dark", scale: float = 1.0) -> None:
        self.theme, self.scale = theme, scale
        self.canvas = Canvas()
        self._drawn_scale = scale
        self._kept: tuple[Page, Any, Layout] | None = None

    def layout(self, shown: Shown, size: tuple[int, int]) -> Layout:
        """Worked out anew only for another page, another window or other values."""
        key = (dict(shown.values), size, self.scale)
        if self._kept is None or self._kept[0] is not shown.page or self._kept[1] != key:
            made = laid_out(self.canvas, shown.page, shown.values, size, self.scale * grown(size), BACK)
            self._kept = (shown.page, key, made)
        return self._kept[2]

    def draw(self, on: Surface, shown: Shown) -> Layout:
        """Paints the whole surface. Returns where everything is."""
        layout, theme = self.layout(shown, on.get_size()), THEMES[self.theme]
        self._drawn_scale = layout.scale
        on.fill(theme.ground)
        scroll = min(shown.scroll, layout.most_scroll)
        pressables = layout.pressables()
        focused = pressables[shown.focus] if shown.focus < len(pressables) else None
        clip = self.canvas.pg.Rect(0, layout.top, on.get_width(), layout.bottom - layout.top)
        for fixed in (False, True):
            on.set_clip(None if fixed else clip)
            for item in layout.items:
                box = layout.place(item, scroll)
                if item.fixed == fixed and (fixed or box.colliderect(clip)):
                    self._item(on, item, box, theme, item is focused)
        on.set_clip(None)
        self._scroll_bar(on, layout, scroll, theme)
        self._foot(on, shown, layout, theme)
        return layout

    def _px(self, value: float) -> int:
        return round(value * self._drawn_scale)

    def _item(self, on: Surface, item: Item, box: Any, theme: Theme, focused: bool) -> None:
        if item.kind == "picture":
            item.of.paint(self.canvas, on, box, self.theme, self._drawn_scale)
        elif item.kind == "button":
            self._button(on, item, box, theme, focused)
        elif item.kind == "field":
            self._field(on, item, box, theme, focused)
        elif item.kind == "switch":
            self._switch(on, item, box, theme, focused)
        elif item.kind == "slide":
            self._slide(on, item, box, theme, focused)
        elif item.kind == "option":
            self._panel(on, box, theme, focused, chosen=bool(item.value))
            self._centred(on, item, box, theme)
        elif item.kind == "head":
            ink = theme.text
            self.canvas.text(on, item.lines[0], box.midleft, item.letters, ink, "midleft", box.width)
        else:
            self._lines(on, item, box, theme)

    def _lines(self, on: Surface, item: Item, box: Any, theme: Theme) -> None:
        ink, step = theme.soft if item.soft else theme.text, item.letters * 1.12
        y = box.top if item.kind != "label" else box.centery - len(item.lines) * step / 2
        for line in item.lines:
            place = (box.right, y) if item.value == "right" else (box.left, y)
            self.canvas.text(on, line, place, item.letters, ink, "topright" if item.value == "right" else "topleft")
            y += step

    def _panel(
        self, on: Surface, box: Any, theme: Theme, focused: bool, chosen: bool = False, strong: bool = False
    ) -> None:
        pg, round_by = self.canvas.pg, self._px(8)
        ground = between(theme.panel, theme.filling, 0.55) if chosen or strong else theme.panel
        pg.draw.rect(on, ground, box, border_radius=round_by)
        edge = between(theme.panel, theme.soft, 0.55)
        pg.draw.rect(on, theme.text if focused else edge, box, self._px(RING) if focused else 1, border_radius=round_by)

    def _button(self, on: Surface, item: Item, box: Any, theme: Theme, focused: bool) -> None:
        button: Button = item.of
        self._panel(on, box, theme, focused, button.chosen, button.look in ("large", "main"))
        if button.look == "danger":
            mark = self.canvas.pg.Rect(box.left + 2, box.top + 2, self._px(8), box.height - 4)
            self.canvas.pg.draw.rect(on, theme.fault, mark, border_radius=self._px(4))
        if not button.note and button.look != "row":
            self._centred(on, item, box, theme)
            return
        small, pad = self._px(SMALL), self._px(10)
        notes = wrapped(self.canvas, button.note, small, box.width - 2 * pad) if button.note else []
        high = len(item.lines) * item.letters + len(notes) * small
        y = box.centery - high / 2
        for line in item.lines:
            self.canvas.text(on, line, (box.left + pad, y), item.letters, theme.text, width=box.width - 2 * pad)
            y += item.letters
        for line in notes:
            self.canvas.text(
                on, line, (box.left + pad, y), small, self._note_ink(button, theme), width=box.width - 2 * pad
            )
            y += small

    @staticmethod
    def _note_ink(button: Button, theme: Theme) -> Any:
        return theme.text if button.look == "large" or button.chosen else theme.soft

    def _centred(self, on: Surface, item: Item, box: Any, theme: Theme) -> None:
        y = box.centery - len(item.lines) * item.letters / 2
        for line in item.lines:
            self.canvas.text(on, line, (box.centerx, y), item.letters, theme.text, "midtop", box.width - self._px(12))
            y += item.letters

    def _switch(self, on: Surface, item: Item, box: Any, theme: Theme, focused: bool) -> None:
        self._panel(on, box, theme, focused, chosen=item.of.on)
        if item.of.on:
            self.canvas.mark(on, box.inflate(-box.width // 4, -box.height // 4), "good", theme.text)

    def _slide(self, on: Surface, item: Item, box: Any, theme: Theme, focused: bool) -> None:
        """The axis, below it the way with the grip on it."""
        pg, slide, half = self.canvas.pg, item.of, self._px(GRIP)
        way = pg.Rect(box.left + half, box.bottom - half, box.width - 2 * half, self._px(4))
        axis = pg.Rect(way.left, box.top, way.width, box.height - 2 * half - self._px(2))
        slide.paint(self.canvas, on, axis, self.theme, self._drawn_scale)
        pg.draw.rect(on, between(theme.panel, theme.soft, 0.5), way, border_radius=self._px(2))
        low, high = slide.span
        grip = pg.Rect(0, 0, 2 * half, round(1.6 * half))
        grip.center = round(way.left + way.width * (slide.value - low) / (high - low)), way.centery
        pg.draw.rect(
            on, between(theme.panel, theme.filling, 0.75 if slide.on else 0.2), grip, border_radius=self._px(5)
        )
        pg.draw.rect(on, theme.text if focused else theme.soft, grip, self._px(RING) if focused else 1, self._px(5))

    def _field(self, on: Surface, item: Item, box: Any, theme: Theme, focused: bool) -> None:
        pg = self.canvas.pg
        pg.draw.rect(on, between(theme.ground, theme.panel, 0.5), box, border_radius=self._px(6))
        edge = theme.text if focused else theme.soft
        pg.draw.rect(on, edge, box, self._px(RING) if focused else 1, border_radius=self._px(6))
        text = item.value
        room = box.width - self._px(24)
        while text and self.canvas.width(text, round(item.letters)) > room:  # the end is what is being typed
            text = text[1:]
        place = (box.left + self._px(10), box.centery)
        end = self.canvas.text(on, text, place, item.letters, theme.text, "midleft").right if text else place[0]
        if focused:
            x = end + 2
            pg.draw.line(
                on, theme.text, (x, box.top + self._px(10)), (x, box.bottom - self._px(10)), max(2, self._px(2))
            )

    def _scroll_bar(self, on: Surface, layout: Layout, scroll: int, theme: Theme) -> None:
        if not layout.most_scroll:
            return
        view = layout.bottom - layout.top
        high = max(self._px(24), view * view // layout.height)
        y = layout.top + (view - high) * scroll // layout.most_scroll
        bar = self.canvas.pg.Rect(on.get_width() - self._px(8), y, self._px(5), high)
        self.canvas.pg.draw.rect(on, theme.soft, bar, border_radius=self._px(3))

    def _foot(self, on: Surface, shown: Shown, layout: Layout, theme: Theme) -> None:
        """The line below: what was done, or what went wrong, in as many lines as it takes."""
        small, pad, width = self._px(SMALL), self._px(GAP), on.get_width()
        text = in_window(shown.said) or (texts.KEYS_HOME if shown.page.home else texts.KEYS)
        lines = wrapped(self.canvas, text, small, width - 4 * pad - small)
        top = on.get_height() - round(len(lines) * small * 1.1) - pad // 2
        if shown.said:
            panel = self.canvas.pg.Rect(0, top - pad, width, on.get_height() - top + pad)
            self.canvas.pg.draw.rect(on, theme.panel, panel)
            mark = self.canvas.pg.Rect(pad, top, small, small)
            self.canvas.pg.draw.rect(on, theme.fault if shown.wrong else theme.good, mark, border_radius=3)
            self.canvas.mark(on, mark, "fault" if shown.wrong else "good", (255, 255, 255))
        for i, line in enumerate(lines):
            x = 2 * pad + small if shown.said else 2 * pad
            ink = theme.text if shown.said else theme.soft
            self.canvas.text(on, line, (x, top + i * small * 1.1), small, ink)
