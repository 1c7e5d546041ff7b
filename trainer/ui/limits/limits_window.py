"""The limits window: limits on sliders, the strokes beside them judged anew while a slider moves.

A window of its own at a desk, with mouse and keyboard: the widgets are pygame_gui's. It knows neither the record nor the
student's file: strokes come in, and what is decided goes out, through the desk given to it.
"""

from __future__ import annotations

from typing import Any

from trainer.app.limits import LimitsDesk
from trainer.coaching.verdict import BY_TIMING
from trainer.coaching.what_if import step_of
from trainer.domain.verdict import FAULT_NAMES
from trainer.feedback.signs import FAULT_WORDS, THEMES
from trainer.live.opening import made_ready
from trainer.live.ports import Display
from trainer.settings.limits import Limit, Limits
from trainer.texts import shown, tr
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.limits.limits_drawing import Dot, LimitAxis, draw_axis, turn_plot, widget_theme
from trainer.ui.limits.limits_state import ALL, BUTTONS, RANGES, LimitsState, margin, row_words
from trainer.vision.sources.base import MonotonicClock

LEFT, TOP = 24, 80
LEAST_PX = (760, 600)  # in a smaller window the rest is cut off
ROW = 96  # px of a limit's row at most
SIDE = 440  # px of the right column at most
SIDE_SHARE = 0.42  # of the window's width
MARGIN = (11, 4)  # px about the strokes, for marks at the ends
LIST_EVERY_S = 0.2  # the list follows a moving slider so often: its widgets are slow
FOOT = 30  # px of the line below
TITLE_LINE = 24  # px of a row's words
FRAME_S = 1 / 30
HINT = tr("Move a limit: crosses would be called, dots not. Click a stroke to see it.")


class LimitsWindow:
    """The window. ``handle`` events and ``draw`` in turn; ``open`` is False once it is to be closed."""

    def __init__(self, state: LimitsState, theme: str = "dark") -> None:
        import pygame
        import pygame_gui

        self._pg, self._gui = pygame, pygame_gui
        pygame.font.init()  # pygame_gui asks for it
        self._surface: Any = pygame.display.get_surface()
        self._theme = theme
        self._canvas = Canvas()
        self.open = True
        self.state = state
        self._build()

    def set(self, limits: Limits) -> None:
        """All limits tried at once, sliders and switches with them."""
        self.state.what_if.judge(limits)
        for name in FAULT_NAMES:
            limit: Limit = getattr(limits, name)
            self.sliders[name].set_current_value(limit.value, warn=False)
            self.switches[name].set_state(limit.on)
        self._refresh()

    # ---- widgets

    def _build(self) -> None:
        pg, gui = self._pg, self._gui
        from pygame_gui import elements as el

        width, height = (max(now, least) for now, least in zip(self._surface.get_size(), LEAST_PX, strict=True))
        self._manager = gui.UIManager((width, height))
        self._manager.get_theme().load_theme(widget_theme(self._theme))
        self._strips: dict[str, Any] = {}
        self._list_due_s: float | None = None
        side = self._side = min(SIDE, round(SIDE_SHARE * width))
        self._left_width = width - side - 3 * LEFT
        self._row = min(ROW, (height - TOP - FOOT) // len(FAULT_NAMES))
        self._slider_px = 22 if self._row > 80 else 16
        self._slider_top = self._row - self._slider_px - (12 if self._row > 80 else 5)  # below the row's own top
        self.sliders: dict[str, Any] = {}
        self.switches: dict[str, Any] = {}
        for i, name in enumerate(FAULT_NAMES):
            limit: Limit = getattr(self.state.limits, name)
            y = TOP + i * self._row
            self.switches[name] = el.UICheckBox(pg.Rect(LEFT, y, 22, 22), "", self._manager, initial_state=limit.on)
            box = pg.Rect(LEFT, y + self._slider_top, self._left_width, self._slider_px)
            span = (limit.low, limit.high)
            self.sliders[name] = el.UIHorizontalSlider(
                box, limit.value, span, self._manager, click_increment=step_of(limit)
            )
        x = self._x = width - side - LEFT
        self.buttons: dict[str, Any] = {}
        step = side // 4
        for i, (words, _) in enumerate(RANGES):
            self.buttons[words] = el.UIButton(pg.Rect(x + i * step, 52, step - 6, 30), shown(words), self._manager)
        foot = height - 8 - FOOT  # the line below is as wide as the window
        for words, box in {
            "called only": pg.Rect(x + 3 * step, 52, side - 3 * step, 30),
            "play this stroke": pg.Rect(x, foot - 112, side, 30),
            "save limits": pg.Rect(x, foot - 34, side // 3 - 6, 32),
            "back to saved": pg.Rect(x + side // 3, foot - 34, side // 3 - 6, 32),
            "close": pg.Rect(x + 2 * (side // 3), foot - 34, side - 2 * (side // 3), 32),
        }.items():
            self.buttons[words] = el.UIButton(box, shown(BUTTONS[words]), self._manager)
        self.who = el.UITextEntryLine(pg.Rect(x + 44, foot - 73, 120, 30), self._manager)
        self.why = el.UITextEntryLine(pg.Rect(x + 210, foot - 73, side - 210, 30), self._manager)
        self.who.set_text_length_limit(60)
        self.why.set_text_length_limit(200)
        self._who_y = foot - 58
        self._plot = pg.Rect(x, foot - 120 - 126, side, 126)
        self._words_y = self._plot.top - 54
        self.list = el.UISelectionList(pg.Rect(x, 92, side, self._words_y - 96), [], self._manager)
        self._refresh()

    def _refresh(self, keep_list: bool = False) -> None:
        """The widgets after what they show has changed."""
        state = self.state
        if not keep_list:
            self._list_due_s = None
            self._items = {shown(state.item(i)): i for i in state.listed()}
            self.list.set_item_list(list(self._items))
        play: Any = self.buttons["play this stroke"]
        if state.chosen is not None:
            play.enable()
        else:
            play.disable()
        self.buttons["called only"].set_text(shown(ALL if state.only_called else BUTTONS["called only"]))

    # ---- events

    def handle(self, event: Any) -> None:
        """One event of pygame's."""
        pg, gui = self._pg, self._gui
        if event.type == pg.QUIT or (event.type == pg.KEYDOWN and event.key == pg.K_ESCAPE):
            self.open = False
            return
        if event.type == pg.VIDEORESIZE:
            self._surface = pg.display.get_surface()
            written = self.who.get_text(), self.why.get_text()
            self._build()
            self.who.set_text(written[0])
            self.why.set_text(written[1])
            return
        self._manager.process_events(event)
        if event.type == gui.UI_HORIZONTAL_SLIDER_MOVED:
            name = _key_of(self.sliders, event.ui_element)
            if name is not None and self.state.move(name, value=float(event.value)) and self._list_due_s is None:
                self._list_due_s = LIST_EVERY_S
        elif event.type in (gui.UI_CHECK_BOX_CHECKED, gui.UI_CHECK_BOX_UNCHECKED):
            name = _key_of(self.switches, event.ui_element)
            if name is not None and self.state.move(name, on=event.type == gui.UI_CHECK_BOX_CHECKED):
                self._refresh()
        elif event.type == gui.UI_SELECTION_LIST_NEW_SELECTION and event.ui_element is self.list:
            self._choose(self._items.get(event.text))
        elif event.type == gui.UI_BUTTON_PRESSED:
            self._pressed(_key_of(self.buttons, event.ui_element))
        elif event.type == pg.MOUSEBUTTONDOWN and event.button == 1:
            self._click(event.pos)

    def _pressed(self, button: str | None) -> None:
        state = self.state
        if button in dict(RANGES):
            state.show_last(dict(RANGES)[button])
        elif button == "called only":
            state.only_called = not state.only_called
        elif button == "save limits":
            state.save(self.who.get_text(), self.why.get_text())
        elif button == "back to saved":
            state.message = ""
            self.set(state.saved)
        elif button == "play this stroke":
            state.replay()
        elif button == "close":
            self.open = False
        if button is not None:
            self._refresh()

    def _choose(self, place: int | None) -> None:
        self.state.chosen = place
        self._refresh(keep_list=True)

    def _click(self, at: tuple[int, int]) -> None:
        """A stroke's mark on an axis chooses it: the nearest one within a finger's width."""
        for name in FAULT_NAMES:
            box = self.axis_box(name)
            if not box.inflate(12, 8).collidepoint(at):
                continue
            limit: Limit = getattr(self.state.limits, name)
            near = [
                (abs(box.left + _share(place, limit) * box.width - at[0]), i)
                for i, place in enumerate(self.state.what_if.axis(name))
                if place is not None
            ]
            if near and min(near)[0] <= 12:
                self._choose(min(near)[1])

    # ---- drawing

    def axis_box(self, name: str) -> Any:
        """Where a limit's strokes stand: above its slider, on the slider's own way between its two arrows."""
        slider = self.sliders[name]
        rect = slider.get_abs_rect()
        reach = slider.sliding_button.get_abs_rect().width / 2 + slider.arrow_button_width
        top = rect.top - self._slider_top + TITLE_LINE
        return self._pg.Rect(rect.left + reach, top, rect.width - 2 * reach, rect.top - top - 4)

    def draw(self, dt_s: float = FRAME_S) -> None:
        """Paints all of it."""
        theme, canvas, on, state = THEMES[self._theme], self._canvas, self._surface, self.state
        self._manager.update(dt_s)
        if self._list_due_s is not None:
            self._list_due_s -= dt_s
            if self._list_due_s <= 0.0:
                self._refresh()
        on.fill(theme.ground)
        canvas.text(on, tr("{name}: limits", name=state.desk.name), (LEFT, 10), 34, theme.text, width=self._left_width)
        canvas.text(on, HINT, (LEFT, 48), 19, theme.soft, width=self._left_width)
        for name in FAULT_NAMES:
            self._draw_row(name)
        canvas.text(on, state.counted(), (self._x, 14), 28, theme.text, width=self._side)
        y = self._words_y
        canvas.text(on, state.now_words(), (self._x, y), 20, theme.text, width=self._side)
        canvas.text(on, state.then_words(), (self._x, y + 25), 18, theme.soft, width=self._side)
        if state.chosen is not None:
            record = state.strokes[state.chosen].record
            turn_plot(canvas, on, self._plot, record, state.limits.early_look.value, self._theme)
        canvas.text(on, tr("who"), (self._x, self._who_y), 19, theme.soft, "midleft")
        canvas.text(on, tr("why"), (self._x + 172, self._who_y), 19, theme.soft, "midleft")
        self._manager.draw_ui(on)
        width, height = on.get_size()
        canvas.text(on, state.status_line(), (LEFT, height - 8), 21, theme.text, "bottomleft", width - 2 * LEFT)

    def _draw_row(self, name: str) -> None:
        theme, canvas, on, what_if = THEMES[self._theme], self._canvas, self._surface, self.state.what_if
        limit: Limit = getattr(self.state.limits, name)
        row = what_if.row(name)
        self._draw_strokes(name, limit, row.called)
        y = self.sliders[name].get_abs_rect().top - self._slider_top
        ink = theme.text if limit.on else theme.soft
        title = canvas.text(on, FAULT_WORDS.get(name, name), (LEFT + 30, y), 22, ink)
        counted = row_words(row) if limit.on else tr("off")
        box = canvas.text(on, counted, (LEFT + self._left_width, y), 20, ink, "topright")
        value = canvas.text(
            on, tr("{value:g} {unit}", value=limit.value, unit=limit.unit), (box.left - 18, y), 22, ink, "topright"
        )
        if canvas.width(limit.note, 16) < value.left - title.right - 28:
            canvas.text(on, limit.note, (title.right + 14, y + 4), 16, theme.soft)

    def _draw_strokes(self, name: str, limit: Limit, called: tuple[int, ...]) -> None:
        """The strokes above a slider; painted anew only when something of them has changed."""
        what_if, box = self.state.what_if, self.axis_box(name)
        key = (id(what_if), what_if.version[name], limit, self.state.chosen, tuple(box))
        if self._strips.get(name, (None,))[0] != key:
            strip = self._pg.Surface(box.inflate(2 * MARGIN[0], 2 * MARGIN[1]).size)
            strip.fill(THEMES[self._theme].ground)
            past = set(called)
            dots = [
                Dot(place, i in past, name in BY_TIMING and what_if.too_close(i), i == self.state.chosen)
                for i, place in enumerate(what_if.axis(name))
                if place is not None
            ]
            inner = self._pg.Rect(MARGIN, box.size)
            axis = LimitAxis(dots, (limit.low, limit.high), limit.value, margin(name))
            draw_axis(self._canvas, strip, inner, axis, self._theme)
            self._strips[name] = (key, strip)
        self._surface.blit(self._strips[name][1], (box.left - MARGIN[0], box.top - MARGIN[1]))


def _share(value: float, limit: Limit) -> float:
    return min(max((value - limit.low) / (limit.high - limit.low), 0.0), 1.0)


def _key_of(table: dict[str, Any], element: Any) -> str | None:
    return next((key for key, value in table.items() if value is element), None)


def limits_in_window(display: Display, desk: LimitsDesk, theme: str) -> None:
    """In a window that is open, until it is closed."""
    import pygame

    state = made_ready(display, MonotonicClock(), tr("Opening the strokes"), lambda _: _ready(desk))
    if state is None:
        return
    window = LimitsWindow(state, theme)
    clock = pygame.time.Clock()
    while window.open:
        for event in pygame.event.get():
            window.handle(event)
        window.draw()
        pygame.display.flip()
        clock.tick(30)


def _ready(desk: LimitsDesk) -> LimitsState:
    """What takes long: the strokes, and the widgets' own code."""
    import pygame_gui  # noqa: F401

    return LimitsState(desk)
