"""A session of the pipeline alone: strokes are judged and shown; no drill, no orders, nothing is put on record."""

from __future__ import annotations

from typing import Any, Protocol

from trainer.coaching.gestures import Order
from trainer.domain.observation import Frame
from trainer.live.display_types import Targets
from trainer.live.pipeline import Finished, StepResult
from trainer.live.practice_state import DisplayStateBuilder
from trainer.live.practice_step import PracticeStep


class Judges(Protocol):
    """A ``Pipeline``."""

    def find_body(self, frame: Frame) -> Any: ...
    def step(self, frame: Frame, body: Any) -> StepResult: ...
    def finish(self) -> Finished | None: ...


class PipelineSession:
    """For measuring how fast everything is, and what the loop makes of it."""

    def __init__(self, pipeline: Judges, targets: Targets | None = None) -> None:
        self._pipeline = pipeline
        self._targets = targets or Targets()
        self._builder = DisplayStateBuilder(self._targets)

    def find_body(self, frame: Frame) -> Any:
        return self._pipeline.find_body(frame)

    def order(self, order: Order) -> None:
        """There is nothing to order."""

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        result = self._pipeline.step(frame, body)
        sound = result.cue.name if result.cue is not None else None
        return PracticeStep(result, result.finished, self._builder.see(frame, result), self._targets, sound)

    def finish(self) -> PracticeStep | None:
        finished = self._pipeline.finish()
        if finished is None:
            return None
        return PracticeStep(None, finished, self._builder.close(finished), self._targets)
