"""Where a page goes that a person named."""

from __future__ import annotations

from pathlib import Path

from trainer.errors import UsageError
from trainer.output import PAGE
from trainer.texts import tr


def check_page(path: Path) -> None:
    """Raises UsageError when the name or its folder will not do: a slip of the finger makes no folders."""
    if path.is_dir():
        raise UsageError(tr("is a folder"), str(path), tr("give the page's name too"))
    if path.suffix.lower() not in PAGE.endings:
        raise UsageError(tr("a page is an HTML file"), str(path), tr("end it in {endings}", endings=PAGE.endings[0]))
    if not path.parent.is_dir():
        raise UsageError(tr("no such folder"), str(path.parent), tr("make it first"))
