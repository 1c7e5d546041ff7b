"""Opens the start window and lets it run."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Callable, Sequence

from trainer.settings.model import Window
from trainer.ui.drawing.window import TITLE, open_surface
from trainer.ui.start.desk import Outside, StartDesk
from trainer.ui.start.first_pages import first_or_home
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


def saving_folder() -> Path:
    """Where people look for their files: the documents, where there is such a folder, else home."""
    import platformdirs

    documents = Path(platformdirs.user_documents_dir())
    return documents if documents.is_dir() else Path.home()
