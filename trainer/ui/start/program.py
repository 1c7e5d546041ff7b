"""Opens the start window and lets it run."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Callable, Sequence

from trainer.settings.model import Window
from trainer.ui.drawing.window import TITLE, open_surface
from trainer.ui.start import texts
from trainer.ui.start.desk import Outside, StartDesk
from trainer.ui.start.first_pages import first_or_home
from trainer.ui.start.page import Button, Buttons, Goes, Page, Words
from trainer.ui.start.page_view import PageView
from trainer.ui.start.start_window import StartWindow


def run_start(window: Window, folder: Path | None, start: Callable[[Sequence[str]], object]) -> bool:
    """Until it is closed. False: there is no display. start: another program of this one's, in a window of its own."""
    import pygame

    try:
        flags = pygame.FULLSCREEN if window.fullscreen else pygame.RESIZABLE
        open_surface((0, 0) if window.fullscreen else (window.width, window.height), TITLE, flags)
    except pygame.error:
        pygame.display.quit()
        return False
    try:
        view = PageView(window.theme, window.letters)
        with closing(StartDesk(folder, view, saving_folder(), Outside(start=start))) as desk:
            shown = StartWindow(view, pygame.display.get_surface, lambda: first_or_home(desk), desk.camera.tick)
            shown.draw()
            pygame.display.flip()
            desk.warm_up()
            shown.run()
    finally:
        pygame.display.quit()
    return True


def show_fault(line: str) -> None:
    """Why it cannot start, in a window of the usual size and colours; nothing where there is no display."""
    import pygame

    window = Window()
    try:
        open_surface((window.width, window.height), TITLE, pygame.RESIZABLE)
    except pygame.error:
        pygame.display.quit()
        return
    try:
        StartWindow(PageView(window.theme, window.letters), pygame.display.get_surface, lambda: fault_page(line)).run()
    finally:
        pygame.display.quit()


def fault_page(line: str) -> Page:
    close = Button(texts.CLOSE, lambda _: Goes("quit"), look="large")
    return Page(texts.CANNOT_START, (Words(line), Buttons((close,), columns=1)), home=True)


def saving_folder() -> Path:
    """Where people look for their files: the documents, where there is such a folder, else home."""
    import platformdirs

    documents = Path(platformdirs.user_documents_dir())
    return documents if documents.is_dir() else Path.home()
