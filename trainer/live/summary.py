"""What a run of practice was like, as the loop counts it."""

from __future__ import annotations

import statistics
from dataclasses import dataclass, field

from trainer.live.pipeline import Finished


@dataclass(frozen=True, slots=True)
class CueTiming:
    """One cue's way. frame_s: the frame's own time; seen_to_sound_s: from reading the frame to the call that plays.

    passed_s: when the limit was passed, None: not known.
    """

    name: str
    frame_s: float
    seen_to_sound_s: float
    passed_s: float | None = None


@dataclass
class Summary:
    """What a run was like; grows while it runs. strokes: without their signals, or an hour of them would fill the memory."""

    frames: int = 0
    strokes: list[Finished] = field(default_factory=list)
    cues: list[CueTiming] = field(default_factory=list)
    first_frame_s: float | None = None  # from the start of run to the first frame judged
    fps: float | None = None  # frames judged per second of the loop's clock
    dropped: int = 0  # frames of a camera that came while earlier ones were still being judged
    drawn: int = 0
    notices: list[str] = field(default_factory=list)

    @property
    def limit_to_call_s(self) -> float | None:
        """Median time from a limit's being passed to the call that plays its cue."""
        late = [c.frame_s - c.passed_s + c.seen_to_sound_s for c in self.cues if c.passed_s is not None]
        return statistics.median(late) if late else None
