"""The limits page in a window of its own, as the command `limits` opens it."""

from __future__ import annotations

from trainer.app.limits import LimitsDesk
from trainer.live.opening import made_ready
from trainer.live.ports import Display
from trainer.settings.model import Window
from trainer.ui.limits.limits_page import limits_page
from trainer.ui.limits.limits_state import LimitsState
from trainer.ui.start import texts
from trainer.ui.start.page import Goes, Next
from trainer.ui.start.page_view import PageView
from trainer.ui.start.start_window import StartWindow
from trainer.vision.sources.base import MonotonicClock


def limits_in_window(display: Display, desk: LimitsDesk, settings: Window) -> None:
    """In a window that is open, until it is closed."""
    import pygame

    state = made_ready(display, MonotonicClock(), texts.OPENING_STROKES, lambda _: LimitsState(desk))
    if state is None:
        return

    def plays(of: LimitsState) -> Next:
        return Goes("stay", desk.replay(of.strokes[of.chosen].stroke_id) if of.chosen is not None else "")

    view = PageView(settings.theme, settings.letters)
    StartWindow(view, pygame.display.get_surface, lambda: limits_page(state, plays, home=True)).run()
