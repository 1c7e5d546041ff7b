"""The start window's loop: keys, mouse and touch to what a page's buttons do; draws only when something has changed."""

from __future__ import annotations

import os
from dataclasses import replace
from typing import Any, Callable

from trainer import log_file
from trainer.errors import TrainerError
from trainer.ui.start.page import Choice, Field, Goes, Maker, Next, Opens, Page, Shown, values_of
from trainer.ui.start.page_view import PageView, leave_page
from trainer.ui.start.places import Item, Layout, Way
from trainer.ui.start.pointer import Pointer

REST_MS = 25  # between two looks at the keys while nothing happens; SDL's own wait looks every millisecond
REPEAT_MS = (400, 60)  # a key held down
WHEEL_PX = 60

Surfaces = Callable[[], Any]  # the window's surface: another one after each task and each resize


class StartWindow:
    """Pages one upon another; ``open`` is False once it is to be closed. first: makes the page all come back to; idle: called
    between them.
    """

    def __init__(
        self, view: PageView, surface: Surfaces, first: Maker, idle: Callable[[], None] = lambda: None
    ) -> None:
        import pygame

        self._pg = pygame
        self.view, self._surface, self._idle = view, surface, idle
        self._makers: list[Maker] = [first]
        self.open = True
        self.fresh = False  # what is drawn is what is to be seen
        self._pointer = Pointer()
        self._next_live_ms: int | None = None
        self.shown = Shown(Page("", ()), {})
        self._show_anew(first, keep=False)

    # ---- pages

    @property
    def page(self) -> Page:
        return self.shown.page

    def follow(self, act: Callable[[], Next]) -> None:
        """Does it, and goes where it leads. What the user can fix is said below the page, which stays as it is."""
        try:
            self._go(act())
        except TrainerError as error:
            log_file.log_error(error)
            self._say(error.line(), wrong=True)
            if (number := self._layout().field_called(error.where)) is not None:  # put right at once
                self._focus_on(number)
        except Exception as error:
            if os.environ.get("PUTTING_TRAINER_STRICT") == "1":
                raise
            self._say(log_file.own_fault(error), wrong=True)
        finally:
            self._pg.key.set_repeat(*REPEAT_MS)  # a task may have set another

    def _go(self, step: Next) -> None:
        if isinstance(step, Opens):
            page = step.make()  # first: where it cannot be made, this page stays
            del self._makers[max(1, len(self._makers) - step.over) :]
            self._makers.append(step.make)
            self._set(page)
            return
        if step.where == "quit":
            self.open = False
            return
        keep = step.where == "stay"
        if step.where == "home":
            del self._makers[1:]
        elif step.where == "back" and len(self._makers) > 1:
            self._makers.pop()
        self._show_anew(self._makers[-1], keep)
        if step.said:
            self._say(step.said, step.wrong)

    def _show_anew(self, make: Maker, keep: bool) -> None:
        """keep: what was typed, and the focus, stay."""
        try:
            page = make()
        except TrainerError as error:
            if len(self._makers) == 1:
                raise
            self._makers.pop()
            self._show_anew(self._makers[-1], keep=False)
            self._say(error.line(), wrong=True)
            return
        before = self.shown
        self._set(page)
        if keep:
            known = {name: text for name, text in before.values.items() if name in self.shown.values}
            scroll, focus = before.scroll, min(before.focus, max(0, len(self._layout().pressables()) - 1))
            self.shown = replace(self.shown, values={**self.shown.values, **known}, focus=focus, scroll=scroll)

    def _set(self, page: Page) -> None:
        self.shown = Shown(page, values_of(page))
        self.shown = replace(self.shown, focus=self._layout().first_focus())
        self._next_live_ms = self._pg.time.get_ticks() if page.live_s is not None else None
        self.fresh = False

    def _say(self, text: str, wrong: bool = False) -> None:
        self.shown = replace(self.shown, said=text, wrong=wrong)
        self.fresh = False

    # ---- drawing

    def _layout(self) -> Layout:
        return self.view.layout(self.shown, self._surface().get_size())

    def draw(self) -> None:
        """All of it, once."""
        self.view.draw(self._surface(), self.shown)
        self.fresh = True

    def run(self) -> None:
        """Until it is closed."""
        pg = self._pg
        pg.key.set_repeat(*REPEAT_MS)
        pg.key.start_text_input()
        while self.open:
            if not self.fresh:
                self.draw()
                pg.display.flip()
            events = pg.event.get()
            for one in events:
                if self.open:
                    self.handle(one)
            self.tick()
            if not events:
                pg.time.wait(REST_MS)

    def tick(self) -> None:
        """A page that lives is made anew when it is due."""
        self._idle()
        live_s, now_ms = self.page.live_s, self._pg.time.get_ticks()
        if live_s is None or self._next_live_ms is None or now_ms < self._next_live_ms:
            return
        said, wrong = self.shown.said, self.shown.wrong
        self._show_anew(self._makers[-1], keep=True)
        self.shown = replace(self.shown, said=self.shown.said or said, wrong=self.shown.wrong or wrong)
        self._next_live_ms = now_ms + round(1000 * live_s)

    # ---- events

    def handle(self, event: Any) -> None:
        """One event of pygame's."""
        pg = self._pg
        if event.type == pg.QUIT:
            self.open = False
        elif event.type in (pg.VIDEORESIZE, pg.WINDOWEXPOSED):
            self.fresh = False
        elif event.type == pg.KEYDOWN:
            self._key(event)
        elif event.type == pg.TEXTINPUT:
            self._type(event.text)
        elif event.type == pg.MOUSEBUTTONDOWN and event.button == 1:
            number = self._under(event.pos)
            slide = number is not None and self._items()[number].kind == "slide"
            self._pointer.down(event.pos, number if slide else None)
        elif event.type == pg.MOUSEMOTION:
            self._drag(event)
        elif event.type == pg.MOUSEBUTTONUP and event.button == 1 and self._pointer.up():
            self._click(event.pos)
        elif event.type == pg.MOUSEWHEEL:
            self._scroll(-event.y * WHEEL_PX)
        elif event.type == pg.DROPFILE and self.page.on_drop is not None:
            on_drop = self.page.on_drop
            self.follow(lambda: on_drop(event.file))

    def _key(self, event: Any) -> None:
        pg = self._pg
        field = self._field()
        if event.key == pg.K_ESCAPE:
            self.follow(lambda: Goes("back") if not self.page.home else Opens(leave_page))
        elif event.key == pg.K_TAB:
            self._move(-1 if event.mod & pg.KMOD_SHIFT else 1)
        elif event.key in (pg.K_RETURN, pg.K_KP_ENTER):
            if field is not None:
                self._move(1)
            else:
                self._press_focus()
        elif event.key == pg.K_SPACE and field is None:
            self._press_focus()
        elif event.key == pg.K_BACKSPACE and field is not None:
            self._put(field, self.shown.values[field.name][:-1])
        elif event.key in (pg.K_PAGEUP, pg.K_PAGEDOWN):
            layout = self._layout()
            page = round(0.8 * (layout.bottom - layout.top))
            self._scroll(page if event.key == pg.K_PAGEDOWN else -page)
        else:
            ways: dict[int, Way] = {pg.K_UP: "up", pg.K_DOWN: "down", pg.K_LEFT: "left", pg.K_RIGHT: "right"}
            way = ways.get(event.key)
            if way is not None and not (field is not None and way in ("left", "right")):
                self._arrow(way)

    def _items(self) -> list[Item]:
        return self._layout().pressables()

    def _focused(self) -> Item | None:
        return next(iter(self._items()[self.shown.focus :]), None)

    def _field(self) -> Field | None:
        """What is being typed in."""
        item = self._focused()
        return item.of if item is not None and item.kind == "field" else None

    def _move(self, by: int) -> None:
        """By the tabulator."""
        layout = self._layout()
        if layout.pressables():
            self._focus_on(layout.tabbed(self.shown.focus, by))

    def _arrow(self, way: Way) -> None:
        here = self._focused()
        if here is None:
            return
        if here.kind == "slide" and way in ("left", "right"):
            by = here.of.step if way == "right" else -here.of.step
            self.follow(lambda: here.of.move(here.of.value + by))
            return
        number, chosen = self._layout().arrowed(self.shown.focus, way)
        self._focus_on(number)
        if chosen:
            self._press_focus()

    def _focus_on(self, number: int) -> None:
        """And scrolls there."""
        layout = self._layout()
        scroll = layout.scrolled_to(layout.pressables()[number], self.shown.scroll)
        self.shown = replace(self.shown, focus=number, scroll=scroll)
        self.fresh = False

    def _scroll(self, by: int) -> None:
        most = self._layout().most_scroll
        self.shown = replace(self.shown, scroll=min(max(0, self.shown.scroll + by), most))
        self.fresh = False

    def _drag(self, event: Any) -> None:
        way = self._pointer.moved(event.pos) if event.buttons[0] else ""
        if way == "scroll":
            self._scroll(-event.rel[1])
        elif way == "slide" and self._pointer.slide is not None:
            self._focus_on(self._pointer.slide)
            self._slide(self._items()[self._pointer.slide], event.pos[0])

    def _under(self, at: tuple[int, int]) -> int | None:
        """Number of what lies there."""
        layout = self._layout()
        for number, item in enumerate(layout.pressables()):
            inside = item.fixed or layout.top <= at[1] < layout.bottom
            if inside and layout.place(item, self.shown.scroll).collidepoint(at):
                return number
        return None

    def _click(self, at: tuple[int, int]) -> None:
        if (number := self._under(at)) is not None:
            self._focus_on(number)
            item = self._items()[number]
            self._slide(item, at[0], picks=True) if item.kind == "slide" else self._press_focus()

    def _slide(self, item: Item, x_px: int, picks: bool = False) -> None:
        """To that place; or what is to be picked there, is."""
        value, near = self._layout().value_at(item, x_px)
        self.follow(lambda: (item.of.pick(value, near) if picks else None) or item.of.move(value))

    def _press_focus(self) -> None:
        if (item := self._focused()) is None:
            return
        if item.kind == "button":
            button, values = item.of, dict(self.shown.values)
            self.shown = replace(self.shown, said="", wrong=False)
            self.fresh = False
            self.follow(lambda: button.act(values))
        elif item.kind == "option":
            choice, option = item.of
            self._put(choice, option)
        elif item.kind == "switch":
            self.follow(lambda: item.of.switch(self.shown.values))

    def _put(self, element: Field | Choice, text: str) -> None:
        self.shown = replace(self.shown, values={**self.shown.values, element.name: text}, said="", wrong=False)
        self.fresh = False

    def _type(self, text: str) -> None:
        """Into the field; without one a figure presses that row of a list."""
        field = self._field()
        rows = [n for n, item in enumerate(self._items()) if item.kind == "button" and item.of.look == "row"]
        if field is None and text.isdecimal() and 0 < int(text) <= len(rows):
            self._focus_on(rows[int(text) - 1])
            self._press_focus()
        elif field is not None:
            self._put(field, (self.shown.values[field.name] + text)[: field.most])
