"""A file chosen from the disk: folders and files as rows, or dropped on the window."""

from __future__ import annotations

from pathlib import Path
from typing import Callable, Sequence

from trainer.domain.printable import printable
from trainer.texts import tr
from trainer.ui.start import texts
from trainer.ui.start.desk import StartDesk
from trainer.ui.start.page import Button, Buttons, Element, Next, Opens, Page, Words

MOST = 300
CLIPS = (".mp4", ".mov", ".m4v", ".avi", ".mkv", ".webm")
PICTURES = (".png", ".jpg", ".jpeg")


def file_page(
    desk: StartDesk,
    title: str,
    endings: Sequence[str],
    act: Callable[[Path], Next],
    folder: Path | None = None,
) -> Page:
    """endings: of the files shown, lower case; folder: None: where the last file was chosen."""
    here = (folder or desk.looking).absolute()
    folders, files = _listed(here, endings)

    def chosen(path: Path) -> Next:
        desk.looking = here
        return act(path)

    def enter(path: Path) -> Button:
        name = texts.UP if path == here.parent else tr("{name}/", name=printable(path.name))
        into = Opens(lambda: file_page(desk, title, endings, act, path), over=1)
        return Button(name, lambda _: into, look="plain" if path == here.parent else "row")

    def file(path: Path) -> Button:
        return Button(printable(path.name), lambda _: chosen(path), look="row")

    rows = (*map(file, files), *map(enter, folders))
    above = (enter(here.parent),) if here.parent != here else ()
    body: list[Element] = [Words(str(here), "soft")]
    if not files:
        body.append(Words(texts.NO_SUCH_FILES))
    body.append(Buttons(rows, columns=1))
    return Page(title, tuple(body), above, on_drop=lambda path: act(Path(path)))


def _listed(folder: Path, endings: Sequence[str]) -> tuple[list[Path], list[Path]]:
    """(folders, files) that can be seen; a folder that may not be read is empty."""
    folders, files = [], []
    try:
        for path in sorted(folder.iterdir(), key=lambda one: one.name.casefold())[:MOST]:
            if path.name.startswith("."):
                continue
            if path.is_dir():
                folders.append(path)
            elif path.name.lower().endswith(tuple(endings)):
                files.append(path)
    except OSError:
        return [], []
    return folders, files
