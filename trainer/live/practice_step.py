"""What one frame of a practice run gave, as one value: made by a session, obeyed by the loop."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Protocol

from trainer.coaching.gestures import Order
from trainer.domain.observation import Frame
from trainer.live.display_types import Targets
from trainer.live.pipeline import Finished, StepResult
from trainer.live.practice_state import DisplayState


@dataclass(frozen=True)
class PracticeStep:
    """All that loop and display need.

    result: None while resting, when frames are only looked at for orders, and at the end; finished: a stroke that is over,
    on record already; state: what is to be shown now; targets: by which this frame was judged; sound: to be played now;
    messages: lines for the user; answers: those of them that say what an order came to; ended: an order was to end the run.
    """

    result: StepResult | None = None
    finished: Finished | None = None
    state: DisplayState = field(default_factory=DisplayState)
    targets: Targets = field(default_factory=Targets)
    sound: str | None = None
    messages: tuple[str, ...] = ()
    answers: tuple[str, ...] = ()
    ended: bool = False


class Session(Protocol):
    """A run of practice, frame by frame; synchronous, for one thread."""

    def find_body(self, frame: Frame) -> Any:
        """The slow half of seeing. May run ahead of ``step`` in another thread: it leans on nothing that ``step`` does."""

    def step(self, frame: Frame, body: Any) -> PracticeStep:
        """One frame on, its body found."""

    def order(self, order: Order) -> None:
        """By key or button; obeyed with the next frame, as are those by arms."""

    def finish(self) -> PracticeStep | None:
        """The frames have ended: the stroke that was still under way, if it counts."""
