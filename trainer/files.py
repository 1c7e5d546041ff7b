"""Files replaced in one step: the old one or the new one, whenever the power goes, never a part."""

from __future__ import annotations

import os
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Iterator

PART = ".new-"  # begins the name of a file that is being written


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """The name of a file beside ``path``, of the same ending, to be written within the block.

    It takes the place of ``path`` when the block ends well, and is gone when it does not. Raises OSError.
    """
    part = path.with_name(f"{PART}{os.urandom(4).hex()}{path.suffix}")
    try:
        yield part
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


@contextmanager
def rewriting(path: Path) -> Iterator[IO[bytes]]:
    """The same with the file open, readable by its owner only. Raises OSError."""
    with replacing(path) as part, open(part, "xb", opener=lambda name, flags: os.open(name, flags, 0o600)) as file:
        yield file


def replace_file(path: Path, data: bytes) -> None:
    """The whole file, readable by its owner only. Raises OSError."""
    with rewriting(path) as file:
        file.write(data)


def free_path(stem: str, ending: str, folder: Path = Path()) -> Path:
    """STEM and ending in the folder, else the working one, with a number between them where that is taken."""
    path, k = folder / f"{stem}{ending}", 1
    while path.exists():
        k += 1
        path = folder / f"{stem}-{k}{ending}"
    return path
