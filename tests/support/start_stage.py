"""The start window on a surface in memory, driven by keys and mouse; what it needs of the world are stand-ins."""

from __future__ import annotations

import threading
from collections import deque
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any, Callable, Iterator, Sequence

import numpy as np
import pygame

from tests.support.practice_stage import PICTURE, Watches
from trainer.camera_setup.mode_cost import Cost
from trainer.domain.observation import Frame, Observation
from trainer.testing.fakes import FakeTonePlayer
from trainer.texts import tr
from trainer.ui.start.desk import Outside, StartDesk
from trainer.ui.start.first_pages import first_or_home
from trainer.ui.start.page_view import PageView
from trainer.ui.start.places import Item
from trainer.ui.start.start_window import StartWindow
from trainer.vision.sources.base import Source

ENDED_S = 20.0


class _Camera(Source):
    """Gives what the stage has for it, and ends when there is no more."""

    name, live, size = tr("camera {camera}", camera=0), True, (640, 480)

    def __init__(self, frames: deque[Frame]) -> None:
        self._frames = frames

    def read(self) -> Frame | None:
        return self._frames.popleft() if self._frames else None


class StartStage:
    """seen: what practice sees next; camera: what the camera gives else."""

    def __init__(
        self,
        folder: Path,
        saving: Path,
        size: tuple[int, int] = (1024, 600),
        scale: float = 1.0,
        theme: str = "dark",
        can_listen: bool = False,
    ):
        pygame.display.init()
        pygame.display.set_mode(size)
        pygame.event.clear()
        self.seen: Sequence[Observation] = ()
        self.frames: deque[Frame] = deque()
        self.opened = 0
        self.bodies: Callable[[], Any] | None = None
        self.tones = FakeTonePlayer(lambda: 0.0)
        self.pages: list[str] = []  # addresses shown in the browser
        self.loudspeakers: tuple[str, ...] = ("Desk", "Hall")
        self.can_listen = can_listen
        self.started: list[Sequence[str]] = []
        self.clock: Any = None
        self.view = PageView(theme, scale)
        outside = Outside(
            source=self._source,
            body=lambda: self.bodies() if self.bodies is not None else None,
            tones=lambda settings, reporter=None, sounds=None: self.tones,
            observer=lambda settings: Watches(self.seen),
            cost=lambda size: Cost(0.0, 0.0, 0.0),
            cautions_s=0.0,
            start=self.started.append,
            loudspeakers=lambda: self.loudspeakers,
            can_listen=lambda: self.can_listen,
            show=self.pages.append,
        )
        self.desk = StartDesk(folder, self.view, saving, outside)
        self.window = StartWindow(self.view, pygame.display.get_surface, lambda: first_or_home(self.desk))

    def _source(
        self, settings: Any, clip: Path | None = None, paced: bool = True, folder: Path | None = None
    ) -> Source:
        self.opened += 1
        return _Camera(self.frames)

    def show(self, frames: Sequence[Frame]) -> None:
        """What the camera gives from now on, open or not."""
        self.frames.clear()
        self.frames.extend(frames)

    def putt(self, seen: Sequence[Observation]) -> None:
        """What practice sees."""
        self.seen = seen
        self.show([Frame(one.index, one.time_s, PICTURE) for one in seen])

    # ---- keys and mouse

    def key(self, name: str, shift: bool = False) -> None:
        code = pygame.key.key_code(name)
        self.window.handle(pygame.event.Event(pygame.KEYDOWN, key=code, mod=pygame.KMOD_LSHIFT if shift else 0))

    def type(self, text: str) -> None:
        for letter in text:
            self.window.handle(pygame.event.Event(pygame.TEXTINPUT, text=letter))

    def click(self, words: str) -> None:
        """With the mouse on the button or choice of these words, scrolled to where it can be seen."""
        item = self.item(words)
        layout = self.window.view.layout(self.window.shown, pygame.display.get_surface().get_size())
        box = layout.place(item, self.window.shown.scroll)
        while not item.fixed and box.bottom > layout.bottom:
            before = self.window.shown.scroll
            self.window.handle(pygame.event.Event(pygame.MOUSEWHEEL, y=-1))
            assert self.window.shown.scroll > before, f"{words} cannot be scrolled to"
            box = layout.place(item, self.window.shown.scroll)
        for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
            self.window.handle(pygame.event.Event(kind, button=1, pos=box.center))

    def slide(self, words: str, value: float) -> None:
        """The slide that begins with these words, dragged with the mouse to about that value."""
        item = next(item for item in self.items() if item.kind == "slide" and item.of.label.startswith(words))
        layout = self.window.view.layout(self.window.shown, pygame.display.get_surface().get_size())
        self.window.shown = replace(self.window.shown, scroll=layout.scrolled_to(item, self.window.shown.scroll))
        axis, (low, high) = layout.axis(item, self.window.shown.scroll), item.of.span
        ways = [axis.left + axis.width * (to - low) / (high - low) for to in (item.of.value, value)]
        y = axis.bottom - 8
        self.window.handle(pygame.event.Event(pygame.MOUSEBUTTONDOWN, button=1, pos=(round(ways[0]), y)))
        for share in (0.3, 0.7, 1.0):
            at = (round(ways[0] + share * (ways[1] - ways[0])), y)
            self.window.handle(pygame.event.Event(pygame.MOUSEMOTION, pos=at, rel=(1, 0), buttons=(1, 0, 0)))
        self.window.handle(pygame.event.Event(pygame.MOUSEBUTTONUP, button=1, pos=at))

    def tab_to(self, words: str) -> None:
        """With the tabulator alone."""
        for _ in self.items():
            if self.focused is not None and words_of(self.focused) == words:
                return
            self.key("tab")
        raise AssertionError(f"{words} is not reached by Tab among {self.words}")

    def press(self, words: str) -> None:
        """By the keyboard alone."""
        self.tab_to(words)
        self.key("return")

    # ---- what is shown

    def items(self) -> list[Item]:
        return self.window.view.layout(self.window.shown, pygame.display.get_surface().get_size()).pressables()

    @property
    def focused(self) -> Item | None:
        items = self.items()
        return items[self.window.shown.focus] if self.window.shown.focus < len(items) else None

    @property
    def words(self) -> list[str]:
        return [words_of(item) for item in self.items()]

    def item(self, words: str) -> Item:
        found = [item for item in self.items() if words_of(item) == words]
        assert found, f"no {words} among {self.words}"
        return found[0]

    @property
    def title(self) -> str:
        return self.window.page.title

    @property
    def said(self) -> str:
        return self.window.shown.said

    def picture(self) -> Any:
        """(height, width, 3) BGR, as it is seen."""
        self.window.draw()
        pixels = pygame.surfarray.array3d(pygame.display.get_surface())
        return np.ascontiguousarray(pixels.swapaxes(0, 1)[:, :, ::-1])

    def close(self) -> None:
        self.desk.close()


def words_of(item: Item) -> str:
    """Of a button, a choice or a field, as a test names it."""
    if item.kind == "field":
        return str(item.of.label)
    if item.kind in ("switch", "slide"):
        return f"{item.kind} {item.of.label}"
    return str(item.of.words) if item.kind == "button" else item.lines[0]


@contextmanager
def ending(repeat: tuple[int, int]) -> Iterator[None]:
    """Escape, pressed as soon as the window in which a key held repeats so is there; within the block."""
    over = threading.Event()

    def watch() -> None:
        while not over.wait(0.02):
            if pygame.key.get_repeat() == repeat:
                pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=pygame.K_ESCAPE, mod=0))
                return

    worker = threading.Thread(target=watch)
    worker.start()
    try:
        yield
    finally:
        over.set()
        worker.join(ENDED_S)
