"""How much farther from the camera than the ball, which is its scale, the putter swings: a rehearsal is made behind the ball."""

from __future__ import annotations

import numpy as np

from trainer.domain.record import Signals
from trainer.stroke import thresholds as th
from trainer.stroke.ball_evidence import ball_at_address
from trainer.stroke.signals import cm_per_px

# The putter head's place above the ball's centre, as vision marks them, where it stands behind the ball: -1.15 to -1.29 on nine
# rendered strokes; on a rehearsal 9 cm nearer to the player +0.94.
USUAL_UP_CM, LEAST_CM = -1.2, 1.0
# A camera so high sees the ground rise in the picture by this many cm from the ball's plane to one twice as far away. It is not
# measured: 40 to 70 cm is what ``setup`` asks for, so the share may be off by DOUBT of itself.
CAMERA_UP_CM, DOUBT = 55.0, 0.4
MOST = 0.12  # farther behind than 33 cm of 280 is another place than the ball's


def behind_ball(signals: Signals, takeaway_s: float) -> float:
    """Share by which lengths in the putter's plane are longer than the ball tells them; 0 beside it, or where it is not known."""
    scale, t = cm_per_px(signals, "ball"), signals.time_s
    ball = ball_at_address(t, signals["ball_along_px"], signals["ball_up_px"], takeaway_s)
    at = (t >= takeaway_s - th.ADDRESS_S[0]) & (t <= takeaway_s - th.ADDRESS_S[1])
    up_px = signals["putter_up_px"][at]
    if scale is None or ball is None or not np.isfinite(up_px).any():
        return 0.0
    above_cm = (float(np.nanmedian(up_px)) - ball.up_px) * scale - USUAL_UP_CM
    return min(above_cm / CAMERA_UP_CM, MOST) if above_cm > LEAST_CM else 0.0
