"""A clip that plays in slow motion without saying so is not judged: its strokes tell."""

from __future__ import annotations

from trainer.domain.observation import Observation
from trainer.errors import ClipError
from trainer.live.pipeline import Finished, StepResult
from trainer.stroke.slow_motion import plays_slowly, slowed_by
from trainer.texts import tr
from trainer.vision.sources.base import Source

KEPT = 4500  # frames; enough for a stroke of a clip that plays eight times slower


class SlowMotion(ClipError):
    """Of a clip whose strokes are slower than any player's."""

    def __init__(self, where: str) -> None:
        what = tr("its strokes are slower than any player's: it plays in slow motion")
        super().__init__(what, where, tr("say at how many frames a second it was recorded: --recorded-fps 240"))


class ClipPace:
    """``see`` every step, then ``end``; both raise SlowMotion. A source whose pace is known is never slow."""

    def __init__(self, source: Source) -> None:
        self._source = None if source.pace_known else source
        self._seen: list[Observation] = []
        self._strokes = False

    def see(self, result: StepResult) -> None:
        if self._source is not None and len(self._seen) < KEPT:
            self._seen.append(result.observation)
        self._stroke(result.finished)

    def end(self, last: Finished | None = None) -> None:
        """No more comes. last: the stroke that was still under way."""
        self._stroke(last)
        if self._source is not None and not self._strokes and slowed_by(self._seen) is not None:
            raise SlowMotion(self._source.where)

    def _stroke(self, finished: Finished | None) -> None:
        self._strokes |= finished is not None
        if self._source is not None and finished is not None and plays_slowly(finished.record):
            raise SlowMotion(self._source.where)
