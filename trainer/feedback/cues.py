"""Which cue is heard: at most one a stroke, the first by time; a chime for a hold that was long enough; or none."""

from __future__ import annotations

from trainer.domain.record import LiveState
from trainer.domain.verdict import FAULT_NAMES, Cue
from trainer.feedback.schedule import FeedbackLevel, Plan, ScheduleName

HOLD_DONE = "hold_done"
READY = "ready"
STEP_DONE, THERE, ALL_SET = "step_done", "there", "all_set"  # of setting up, before any stroke
CUE_NAMES = (*FAULT_NAMES, HOLD_DONE)


class CueChooser:
    """Sits between the live judge and the loudspeaker.

    plan: which strokes get feedback, or the name of a schedule; in a silent block everything is measured, nothing sounds.
    """

    def __init__(self, plan: Plan | ScheduleName = "every") -> None:
        self._plan = Plan(plan) if isinstance(plan, str) else plan
        self._number = 1
        self._given: list[Cue] = []

    @property
    def feedback_level(self) -> FeedbackLevel:
        """What the stroke under way, or the next one, may give away."""
        return self._plan.feedback_level(self._number)

    def begin_block(self, plan: Plan) -> None:
        """From the next stroke on another plan, counted from its first stroke."""
        self._plan, self._number = plan, 1

    def go_to(self, number: int) -> None:
        """The next stroke is this one of the block: not every stroke need count."""
        self._number = number

    def choose(self, moment: LiveState, wanted: Cue | None) -> Cue | None:
        """The cue to sound at this moment, or None. wanted: what the live judge says."""
        if "takeaway_s" in moment.new_events and moment.closed is None:
            self._given.clear()  # what began before this stroke never became one
        if wanted is None:
            return None
        if self._given:
            return None
        feedback_level = self.feedback_level
        if not (feedback_level.praise if wanted.name == HOLD_DONE else feedback_level.tone):
            return None
        self._given.append(wanted)
        return wanted

    def end_stroke(self) -> tuple[Cue, ...]:
        """The cues that this stroke got; the next one starts afresh."""
        given = tuple(self._given)
        self._given.clear()
        self._number += 1
        return given
