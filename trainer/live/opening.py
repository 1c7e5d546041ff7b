"""What takes long before a window has anything to show is done beside it, while the window shows that it goes on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable, TypeVar

from trainer.live.ports import QUIT, Display
from trainer.vision.sources.base import Clock
from trainer.worker import Job, Progress

LOOK_S = 0.08  # the window moves, and looks at its keys, so often
END_S = 10.0  # work that was told to end is waited for so long
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Opening:
    """Shown while something is made ready. passed_s: since it began; share: of it that is done, None: not known."""

    words: str
    passed_s: float = 0.0
    share: float | None = None


def made_ready(display: Display, clock: Clock, words: str, work: Callable[[Progress], Result]) -> Result | None:
    """The work's result; None when the user ends it first. Without anything to look at it is done right here.

    Raises what the work raises.
    """
    if not display.visible:
        return work(Progress())
    begun_s = clock.now()
    display.show(Opening(words))
    job = Job("opening", work).start()
    while not job.wait(LOOK_S):
        if QUIT in display.poll():
            job.stop()
            display.close()
            job.wait(END_S)
            return None
        progress = job.progress
        display.show(Opening(progress.words or words, clock.now() - begun_s, progress.share))
    return job.result()
