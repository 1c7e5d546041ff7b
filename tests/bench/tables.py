"""What a bench found, told and kept."""

from __future__ import annotations

from pathlib import Path
from typing import Iterable


def tell(lines: Iterable[str], kept: Path | None) -> None:
    """Prints them. kept: a file that they are added to."""
    text = "\n".join(lines)
    print(text, flush=True)
    if kept is not None:
        with kept.open("a", encoding="utf-8") as file:
            file.write(text + "\n")
