"""A bar on the terminal while something takes long; nothing where stderr is no terminal. rich is imported when one is made."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import Callable, Iterator

from trainer.worker import Progress


@contextmanager
def bar(name: str, total: float | None) -> Iterator[Callable[[], None]]:
    """Called once for each part of ``total``; None: nobody knows how many there are."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import Progress as Bars

    with Bars(console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task(name, total=total)
        yield lambda: bars.advance(task)


class _OnTerminal(Progress):
    def __init__(self, show: Callable[[str, float | None], None]) -> None:
        super().__init__()
        self._show = show

    def tell(self, share: float | None, words: str | None = None) -> None:
        super().tell(share, words)
        self._show(self.words, self.share)


@contextmanager
def telling() -> Iterator[Progress]:
    """What is told there is shown as a bar."""
    if not sys.stderr.isatty():
        yield Progress()
        return
    from rich.console import Console
    from rich.progress import Progress as Bars

    with Bars(console=Console(stderr=True), transient=True) as bars:
        task = bars.add_task("", total=1.0)
        yield _OnTerminal(lambda words, share: bars.update(task, description=words, total=1.0, completed=share or 0.0))
