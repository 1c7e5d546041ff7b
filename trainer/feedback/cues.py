"""Which cue is heard: at most one a stroke, the first by time; a chime for a hold that was long enough; or none."""

from __future__ import annotations

from typing import Literal

from trainer.coaching.verdict import Cue
from trainer.settings.limits import FAULT_NAMES
from trainer.stroke.record import Moment

Schedule = Literal["every", "silent"]

HOLD_DONE = "hold_done"
READY = "ready"
CUE_NAMES = (*FAULT_NAMES, HOLD_DONE)


class CueChooser:
    """Sits between the live judge and the loudspeaker.

    schedule: "every" stroke may sound; "silent": everything is measured, nothing sounds (constant feedback helps
    practice and harms retention: Salmoni, Schmidt and Walter 1984; Winstein and Schmidt 1990).
    """

    def __init__(self, schedule: Schedule = "every") -> None:
        self.schedule: Schedule = schedule
        self._given: list[Cue] = []

    def choose(self, moment: Moment, wanted: Cue | None) -> Cue | None:
        """The cue to sound at this moment, or None. wanted: what the live judge says."""
        if "takeaway_s" in moment.new_events and moment.closed is None:
            self._given.clear()  # what began before this stroke never became one
        if wanted is None or self.schedule == "silent" or self._given:
            return None
        self._given.append(wanted)
        return wanted

    def end_stroke(self) -> tuple[Cue, ...]:
        """The cues that this stroke got; the next one starts afresh."""
        given = tuple(self._given)
        self._given.clear()
        return given
