"""Every page and window that is reached from the start page, drawn at a size, in a theme: each on its own or all on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Iterator

import numpy as np

from tests.support.made_strokes import keep_sessions
from tests.support.start_stage import StartStage
from trainer.app.context import load_context
from trainer.app.start.memory import DONE, FIRST_PAGES, StartMemory, remember_start
from trainer.app.students import add_student

# name -> what is pressed from the start page; "1" presses the first row of a list.
PAGES: dict[str, tuple[str, ...]] = {
    "home": (), "students": ("Switch or add",), "add": ("Switch or add", "Add somebody"),
    "change": ("Switch or add", "Change Robin"), "drills": ("Drills",), "homework": ("Homework",),
    "set-homework": ("Homework", "Set homework"), "lesson": ("Lesson",), "lesson-begun": ("Lesson", "Begin a lesson"),
    "before-play": ("Before play",), "strokes": ("Strokes again",), "stroke": ("Strokes again", "1"),
    "progress": ("Progress",), "posture": ("How you stand",), "cards": ("Why: cards",), "distance": ("Distance",),
    "round": ("Coach's round",), "limits": ("Limits",),
    "limits-stroke": ("Limits", "1"), "limits-save": ("Limits", "slide", "Save limits"),
    "baseline": ("Fit limits",), "transfer": ("Export, import",), "erase": ("Erase",),
    "erase-sure": ("Erase", "Erase"), "settings": ("Settings",), "sound": ("Settings", "Hear it, or another loudspeaker"),
}  # fmt: skip
SIZES = {"1024": ((1024, 600), 1.0), "1366": ((1366, 768), 1.0), "1920": ((1920, 1080), 1.0), "200": ((1024, 600), 2.0)}
THEMES = ("dark", "light")
TILE_PX = 480  # width of a page on a sheet
ACROSS = 5


def made_folder(folder: Path) -> Path:
    """Data of two students, one of them with strokes of a few days; the first time is over."""
    base = folder / "data"
    for name in ("Kim", "Robin"):
        add_student(load_context(base), name, {"player.height_cm": 172})
    context = load_context(base, "Robin")
    with context.open_store() as store:
        keep_sessions(store, context.settings, context.student_id, sessions=4, strokes=10)
    (folder / "files").mkdir()
    return base


def pages(folder: Path, size: str, theme: str) -> Iterator[tuple[str, Any]]:
    """(name, picture BGR at full size) of each. folder: an empty one; size: of SIZES."""
    base = made_folder(folder)
    pixels, scale = SIZES[size]
    for number in range(FIRST_PAGES):
        remember_start(base, StartMemory("Robin", number))
        first = StartStage(base, folder / "files", pixels, scale, theme)
        yield f"first-{number + 1}", first.picture()
        first.close()
    remember_start(base, StartMemory("Robin", DONE))
    stage = StartStage(base, folder / "files", pixels, scale, theme)
    for name, way in PAGES.items():
        for words in way:
            if words == "1":
                stage.type("1")
            elif words == "slide":
                stage.slide("Stopped hands", 8.0)
            else:
                stage.click(words)
        yield name, stage.picture()
        while not stage.window.page.home:
            stage.key("escape")
    yield from _windows(theme)
    stage.close()


def _windows(theme: str) -> Iterator[tuple[str, Any]]:
    """Those that are no pages: setting up, a name for the round."""
    import pygame

    from trainer.camera_setup.setup_findings import SetupFacts, setup_findings
    from trainer.camera_setup.setup_observer import SetupStep
    from trainer.ui.camera_setup.setup_view import SetupView
    from trainer.ui.start.hints import in_window
    from trainer.ui.start.task_window import BigWords

    surface = pygame.display.get_surface()
    SetupView(theme, in_window).draw(surface, SetupStep(None, tuple(setup_findings(SetupFacts(brightness=20.0)))))
    yield "setup", read(surface)
    BigWords(theme).draw(surface, ("Robin", "6 strokes today"))
    yield "round-name", read(surface)


def read(surface: Any) -> Any:
    """(height, width, 3) BGR."""
    import pygame

    return np.ascontiguousarray(pygame.surfarray.array3d(surface).swapaxes(0, 1)[:, :, ::-1])


def sheet(pictures: list[Any]) -> Any:
    """All of one size on one picture, made smaller."""
    import cv2

    high, wide = pictures[0].shape[:2]
    tall = round(TILE_PX * high / wide)
    small = [cv2.resize(one, (TILE_PX, tall), interpolation=cv2.INTER_AREA) for one in pictures]
    small += [np.zeros_like(small[0])] * (-len(small) % ACROSS)
    return np.vstack([np.hstack(small[row : row + ACROSS]) for row in range(0, len(small), ACROSS)])
