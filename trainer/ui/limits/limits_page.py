"""Limits tried on the strokes on record, as a page: each on its axis of strokes, judged anew while it moves."""

from __future__ import annotations

from typing import Any, Callable

from trainer.coaching.verdict import BY_TIMING
from trainer.coaching.what_if import step_of
from trainer.domain.units import unit_words
from trainer.domain.verdict import FAULT_NAMES
from trainer.feedback.signs import FAULT_WORDS
from trainer.settings.limits import Limit
from trainer.texts import tr
from trainer.ui.limits.limits_drawing import Dot, LimitAxis, draw_axis, turn_plot
from trainer.ui.limits.limits_state import RANGES, LimitsState, margin, row_words
from trainer.ui.start import texts
from trainer.ui.start.page import (
    LISTED,
    Button,
    Buttons,
    Element,
    Field,
    Goes,
    Next,
    Opens,
    Page,
    Picture,
    Slide,
    Slides,
    Words,
)

PLOT_PX = 150
HINT = tr("Move a limit: crosses would be called, dots not. Press a stroke to see it.")
CALLED_ONLY, PLAY, SAVE, BACK_TO_SAVED = (
    tr("Called only"), tr("Play this stroke"), tr("Save limits"), tr("Back to saved"),
)  # fmt: skip
NO_STROKE = tr("choose a stroke first: in the list, or on an axis")
MORE = tr("and {count} older ones: choose fewer, or press their marks above")

Plays = Callable[[LimitsState], Next]  # the chosen stroke again


def limits_page(state: LimitsState, plays: Plays, home: bool = False) -> Page:
    """home: the only page of its window."""
    slides = Slides(tuple(_slide(state, name) for name in FAULT_NAMES))
    body: list[Element] = [Words(state.status_line() or HINT, "soft"), slides]
    if state.chosen is not None:
        record, limit_deg = state.strokes[state.chosen].record, state.limits.early_look.value
        body += [
            Words(state.now_words()),
            Words(state.then_words(), "soft"),
            Picture(lambda c, on, box, theme, scale: turn_plot(c, on, box, record, limit_deg, theme, scale), PLOT_PX),
        ]
    listed = state.listed()
    body += [Buttons(_ranges(state)), Buttons(tuple(_row(state, i) for i in listed[:LISTED]), columns=1)]
    if len(listed) > LISTED:
        body.append(Words(MORE.format(count=len(listed) - LISTED), "soft"))
    foot = (
        Button(SAVE, lambda _: _to_save(state), look="main"),
        Button(BACK_TO_SAVED, lambda _: _stay(lambda: state.what_if.judge(state.saved))),
        Button(PLAY, lambda _: plays(state) if state.chosen is not None else Goes("stay", NO_STROKE, wrong=True)),
    )
    title = tr("{name}: {counted}", name=state.desk.name, counted=state.counted())
    return Page(title, tuple(body), foot=foot, home=home)


def _stay(work: Callable[[], object]) -> Next:
    """The page anew after it is done."""
    work()
    return Goes("stay")


def _slide(state: LimitsState, name: str) -> Slide:
    limit: Limit = getattr(state.limits, name)
    row = state.what_if.row(name)

    def paint(canvas: Any, on: Any, box: Any, theme: str, scale: float) -> None:
        past = set(row.called)
        dots = [
            Dot(place, i in past, name in BY_TIMING and state.what_if.too_close(i), i == state.chosen)
            for i, place in enumerate(state.what_if.axis(name))
            if place is not None
        ]
        draw_axis(canvas, on, box, LimitAxis(dots, (limit.low, limit.high), limit.value, margin(name)), theme, scale)

    def pick(value: float, near: float) -> Next | None:
        """The nearest stroke's mark."""
        apart = [(abs(place - value), i) for i, place in enumerate(state.what_if.axis(name)) if place is not None]
        if not apart or min(apart)[0] > near:
            return None
        state.chosen = min(apart)[1]
        return Goes("stay")

    return Slide(
        tr(
            "{fault}: {value:g} {unit}",
            fault=FAULT_WORDS.get(name, name),
            value=limit.value,
            unit=unit_words(limit.unit),
        ),
        row_words(row) if limit.on else tr("off"),
        limit.value,
        (limit.low, limit.high),
        step_of(limit),
        limit.on,
        lambda value: _stay(lambda: state.move(name, value=value)),
        lambda _: _stay(lambda: state.move(name, on=not limit.on)),
        pick,
        paint,
    )


def _ranges(state: LimitsState) -> tuple[Button, ...]:
    def show(count: int | None) -> Any:
        return lambda _: _stay(lambda: state.show_last(count))

    def called(_: Any) -> Next:
        state.only_called = not state.only_called
        return Goes("stay")

    ranges = (Button(words, show(count), chosen=count == state.last) for words, count in RANGES)
    return (*ranges, Button(CALLED_ONLY, called, chosen=state.only_called))


def _row(state: LimitsState, i: int) -> Button:
    def choose(_: Any) -> Next:
        state.chosen = i
        return Goes("stay")

    return Button(state.item(i), choose, look="row", chosen=i == state.chosen)


def _to_save(state: LimitsState) -> Next:
    return Opens(lambda: save_page(state)) if state.moved else Goes("stay", texts.NOTHING_TO_CHANGE)


def save_page(state: LimitsState) -> Page:
    """What changes, who decides it, and why."""

    def save(values: Any) -> Next:
        return Goes("back", state.save(values["who"], values["why"]))

    body = (Words(state.status_line()), Field("who", texts.BY, most=60), Field("why", texts.LESSON_WHY))
    return Page(SAVE, body, foot=(Button(texts.SAVE, save, look="main"),))
