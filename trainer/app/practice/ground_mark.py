"""A mark on the floor of the live picture: back to here. Beside the ball, in its plane; unknown is said, not guessed."""

from __future__ import annotations

import math

from trainer.domain.observation import Observation
from trainer.domain.phases import Phase
from trainer.domain.player_frame import Point
from trainer.live.display_types import GroundMark
from trainer.texts import tr

MEMORY_S = 6.0  # the ball's place stays known while the player stands before it
NEARER_DIAMETERS = 1.6  # the mark lies so far on this side of the ball's line, below it in a face-on picture


class GroundMarker:
    """Keeps the place of the ball while it is hidden or struck, for the mark must not jump."""

    def __init__(self) -> None:
        self._ball: tuple[float, Point, float, float] | None = None  # when, where, diameter, cm per px

    def mark(self, observation: Observation, phase: Phase, behind_cm: float) -> GroundMark:
        """behind_cm: behind the ball's middle, see distance.chart.mark_behind_ball_cm."""
        if observation.view != "face-on":
            return GroundMark(reason=tr("the line is seen face-on only"))
        ball, scale = observation.ball, observation.scale
        cm = scale.ball_cm_per_px if scale is not None else None
        if ball is not None and cm and not phase.under_way and math.isfinite(ball.centre.along_px):
            self._ball = (observation.time_s, ball.centre, ball.diameter_px, cm)
        if self._ball is None or observation.time_s - self._ball[0] > MEMORY_S:
            self._ball = None
            return GroundMark(reason=tr("no ball seen") if ball is None else tr("scale not known"))
        _, centre, diameter, cm_per_px = self._ball
        at = Point(
            centre.along_px - behind_cm / cm_per_px, centre.up_px - NEARER_DIAMETERS * diameter, centre.confidence
        )
        return GroundMark(at, centre, diameter)
