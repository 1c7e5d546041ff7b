"""From where the camera looks, told from the player's shoulders while he stands, where it is not as was said."""

from __future__ import annotations

import math
import statistics

from trainer.camera_setup.setup_findings import MIN_VIEW_CONFIDENCE
from trainer.coaching.posture.view_detection import view_by_width
from trainer.domain.naming import view_words
from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.texts import tr

FRAMES = 20  # of a player who stands there, before it is told
PARTS = ("lead_shoulder", "trail_shoulder", "lead_hip", "trail_hip")


class ViewTeller:
    """``see`` with every frame. It tells once."""

    def __init__(self) -> None:
        self.line = ""  # what was told
        self._widths: list[float] = []

    def see(self, observation: Observation, phase: Phase) -> tuple[str, ...]:
        """Lines to say."""
        if len(self._widths) >= FRAMES or phase.under_way:
            return ()
        width = shoulder_width(observation)
        if width is None:
            return ()
        self._widths.append(width)
        if len(self._widths) < FRAMES:
            return ()
        seen, sure = view_by_width(statistics.median(self._widths))
        if seen == observation.view or sure < MIN_VIEW_CONFIDENCE:
            return ()
        self.line = tr(
            "the camera looks {words}, not {view}: end it and set `--view {seen}`, else no stroke is told right",
            words=view_words(seen),
            view=view_words(observation.view),
            seen=seen,
        )
        return (self.line,)


def shoulder_width(observation: Observation) -> float | None:
    """Of the shoulders over the length of the trunk, in the picture; None where they are not seen."""
    body, frame = observation.body, observation.frame
    if body is None or any(name not in body or not frame.seen(body[name]) for name in PARTS):
        return None
    (x0, y0), (x1, y1), hip0, hip1 = (frame.to_picture(body[name]) for name in PARTS)
    trunk = math.dist(((x0 + x1) / 2, (y0 + y1) / 2), ((hip0[0] + hip1[0]) / 2, (hip0[1] + hip1[1]) / 2))
    return abs(x0 - x1) / trunk if trunk > 0 else None
