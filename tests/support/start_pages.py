"""Every page and window that is reached from the start page, drawn at a size, in a theme: each on its own or all on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Iterator

import numpy as np
import pygame

from tests.support.made_strokes import keep_sessions
from tests.support.start_stage import StartStage
from tests.support.window_pages import FOUND, clip_report, windows
from trainer.app.context import load_context
from trainer.app.start.memory import DONE, FIRST_PAGES, StartMemory, remember_start
from trainer.app.students import add_student
from trainer.languages import LANGUAGES
from trainer.texts import speaking
from trainer.ui.drawing.canvas import Canvas
from trainer.ui.start.machine_pages import clip_report_page, findings_page
from trainer.ui.start.page import Opens

# name -> what is pressed from the start page; "1" presses the first row of a list.
PAGES: dict[str, tuple[str, ...]] = {
    "home": (), "students": ("Change player",), "add": ("Change player", "Add somebody"),
    "change": ("Change player", "Change Robin"), "drills": ("Drills",), "homework": ("Homework",),
    "set-homework": ("Homework", "Set homework"), "lesson": ("Lesson",), "lesson-begun": ("Lesson", "Begin a lesson"),
    "before-play": ("Before play",), "strokes": ("Replay strokes",), "stroke": ("Replay strokes", "1"),
    "progress": ("Progress",), "posture": ("How you stand",), "cards": ("Why: cards",), "distance": ("Distance",),
    "chart": ("Distance", "The chart"),
    "round": ("Coach's round",), "limits": ("Limits",),
    "limits-stroke": ("Limits", "1"), "limits-save": ("Limits", "slide", "Save limits"),
    "baseline": ("Limits from a baseline",), "transfer": ("Export, import",), "erase": ("Erase",),
    "erase-sure": ("Erase", "Erase"), "settings": ("Settings",), "sound": ("Settings", "Hear it, or another loudspeaker"),
    "clip": ("Open a clip",), "import": ("Export, import", "Import a file"),
    "card": ("Why: cards", "You looked before the putter was at rest"),
    "wrong-name": ("Replay strokes", "1", "Wrong name?"),
    "take-out": ("Replay strokes", "1", "Wrong name?", "This stroke"),
    "who-else": ("Change player", "Robin is here twice"),
    "one-person": ("Change player", "Robin is here twice", "Kim"),
    "given": ("Replay strokes", "1", "Wrong name?", "Kim"),  # the last: a stroke has gone
}  # fmt: skip
SIZES = {"1024": ((1024, 600), 1.0), "1366": ((1366, 768), 1.0), "1920": ((1920, 1080), 1.0), "200": ((1024, 600), 2.0)}
THEMES = ("dark", "light")
LOOKS = [(size, theme, "en") for size in SIZES for theme in THEMES] + [("1024", "dark", "de")]  # size, theme, language
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
    (folder / "files" / "Putting").mkdir(parents=True)
    for name in ("robin.mp4", "robin-2.mp4", "robin.handover.zip"):
        (folder / "files" / name).write_bytes(b"")
    return base


def pages(folder: Path, size: str, theme: str, language: str) -> Iterator[tuple[str, Any]]:
    """(name, picture BGR at full size) of each. folder: an empty one; size: of SIZES."""
    with speaking(LANGUAGES[language]):
        for name, _ in drawn_pages(folder, size, theme):
            yield name, read(pygame.display.get_surface())


def drawn_pages(folder: Path, size: str, theme: str) -> Iterator[tuple[str, Canvas]]:
    """(name, what drew it) of each, once it is on the display's surface, in the language that is spoken."""
    base = made_folder(folder)
    pixels, scale = SIZES[size]
    for number in range(FIRST_PAGES):
        remember_start(base, StartMemory("Robin", number))
        first = StartStage(base, folder / "files", pixels, scale, theme)
        first.window.draw()
        yield f"first-{number + 1}", first.view.canvas
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
        stage.window.draw()
        yield name, stage.view.canvas
        while not stage.window.page.home:
            stage.key("escape")
    stage.window.follow(lambda: Opens(lambda: clip_report_page(stage.desk, Path("robin.mp4"), clip_report(), None)))
    stage.window.draw()
    yield "clip-report", stage.view.canvas
    stage.window.follow(lambda: Opens(lambda: findings_page(FOUND)))
    stage.window.draw()
    yield "check", stage.view.canvas
    yield from windows(pygame.display.get_surface(), theme, scale)
    stage.close()


def read(surface: Any) -> Any:
    """(height, width, 3) BGR."""
    return np.ascontiguousarray(pygame.surfarray.array3d(surface).swapaxes(0, 1)[:, :, ::-1])


def sheet(pictures: list[Any]) -> Any:
    """All of one size on one picture, made smaller."""
    import cv2

    high, wide = pictures[0].shape[:2]
    tall = round(TILE_PX * high / wide)
    small = [cv2.resize(one, (TILE_PX, tall), interpolation=cv2.INTER_AREA) for one in pictures]
    small += [np.zeros_like(small[0])] * (-len(small) % ACROSS)
    return np.vstack([np.hstack(small[row : row + ACROSS]) for row in range(0, len(small), ACROSS)])
