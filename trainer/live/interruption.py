"""Pictures that come no more in mid-stroke: what was seen of the stroke is kept where it counts, else dropped with a line."""

from __future__ import annotations

from typing import Callable

from trainer.live.practice_step import PracticeStep, Session
from trainer.texts import tr
from trainer.vision.sources.base import Source

DROPPED = tr("the stroke under way is not counted: its pictures ended too soon")


class Interruption:
    """``see`` every step, ``look`` whenever no frame comes; for the thread that steps the session."""

    def __init__(self, source: Source, session: Session, take: Callable[[PracticeStep], None]) -> None:
        self._source, self._session, self._take = source, session, take
        self._under_way = False

    def see(self, step: PracticeStep) -> None:
        self._under_way = step.result is not None and step.result.moment.phase.under_way

    def look(self) -> None:
        """Ends the stroke under way, once, while the source waits for its user."""
        if self._source.waiting() is None or not self._under_way:
            return
        self._under_way = False
        self._take(self._session.finish() or PracticeStep(messages=(DROPPED,)))
