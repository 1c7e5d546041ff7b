"""Files that are written whole or not at all, and names for them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trainer.errors import UsageError
from trainer.output import Kind, check_output
from trainer.texts import join, tr

SIZE = (1280, 720)  # px, of clips and pictures that show one stroke or posture


def check_name(path: Path, kind: Kind, what: str) -> None:
    """Raises UsageError when the name, its folder or what is there already will not do."""
    if path.suffix.lower() not in kind.endings:
        kinds = join(" or ", (ending[1:].upper() for ending in kind.endings))
        raise UsageError(
            tr("{what} is a {kinds} file", what=what, kinds=kinds),
            str(path),
            tr("end it in {endings}", endings=kind.endings[0]),
        )
    if not path.parent.is_dir():
        raise UsageError(tr("no such folder"), str(path.parent), tr("make it first"))
    check_output(path, kind)


def path_beside(folder: Path, stem: str, ending: str) -> Path:
    """A name in that folder that is not taken."""
    n = 1
    while (path := folder / f"{stem}{'' if n == 1 else f'-{n}'}{ending}").exists():
        n += 1
    return path


def pixels(surface: Any) -> Any:
    """A pygame surface as (height, width, 3) uint8 BGR."""
    import numpy as np
    import pygame

    width, height = surface.get_size()
    rgb = np.frombuffer(pygame.image.tobytes(surface, "RGB"), np.uint8).reshape(height, width, 3)
    return np.ascontiguousarray(rgb[:, :, ::-1])


def png(surface: Any, path: Path) -> bytes:
    """The surface as PNG. path: for the error. Raises UsageError."""
    import cv2

    done, data = cv2.imencode(".png", pixels(surface))
    if not done:
        raise UsageError(tr("the picture could not be made"), str(path), tr("try again"))
    return bytes(data.tobytes())
