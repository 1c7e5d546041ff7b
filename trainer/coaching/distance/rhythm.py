"""Rhythm constancy: does the stroke take the same time for a short and a long putt, and can this camera tell?

Measured as the change of the whole time (takeaway to impact) with distance. One published player kept it within 2 %
over an eightfold distance (`published.SAME_TEMPO_SHARE`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Sequence

import numpy as np

from trainer.coaching.distance.checks import LEVEL
from trainer.coaching.distance.distance_model import Estimate
from trainer.coaching.distance.published import SAME_TEMPO_SHARE
from trainer.errors import UsageError
from trainer.texts import tr, tr_count

MIN_STROKES = 6
_MIN_RATIO = 1.8  # of the longest to the shortest distance


@dataclass(frozen=True, slots=True)
class Rhythm:
    """change_share: of the whole time over an eightfold distance, with interval; mean_s; variability: of one stroke
    about that trend, standard deviation; camera_share: what the camera's frames alone add to it; resolved_share: the
    smallest change over an eightfold distance that these strokes could show; steady: None while that cannot be told.
    """

    strokes: int
    mean_s: float
    change_share: Estimate
    variability: float
    camera_share: float
    resolved_share: float
    steady: bool | None

    def line(self) -> str:
        """For the player, with what the camera can resolve beside it."""
        verdict = {
            True: tr("same pace at all distances"),
            False: tr("the rhythm changes with distance"),
            None: tr("not plain yet"),
        }
        change = self.change_share
        return tr(
            "{verdict}: {value:+.0%} ({low:+.0%} to {high:+.0%}) of {mean_s:.2f} s over an eightfold "
            "distance, single strokes {variability:.1%}; these {strokes} strokes at this frame rate "
            "can show a change of {resolved_share:.0%}, frames alone give {camera_share:.1%}",
            verdict=verdict[self.steady],
            value=change.value,
            low=change.low,
            high=change.high,
            mean_s=self.mean_s,
            variability=self.variability,
            strokes=self.strokes,
            resolved_share=self.resolved_share,
            camera_share=self.camera_share,
        )


def frame_error_s(frames_per_s: float) -> float:
    """Standard deviation of a time between two events each known to a frame only: 1/(fps sqrt 6). Interpolation does
    better.
    """
    return 1.0 / (frames_per_s * math.sqrt(6.0))


def rhythm(whole_s: Sequence[float], distances_m: Sequence[float], frames_per_s: float, level: float = LEVEL) -> Rhythm:
    """whole_s: takeaway to impact of each stroke; distances_m: of each putt. Raises UsageError when there is too
    little.
    """
    from scipy.special import stdtrit

    times, distances = np.asarray(whole_s, dtype=np.float64), np.asarray(distances_m, dtype=np.float64)
    if times.size < MIN_STROKES:
        raise UsageError(
            tr_count("{count} timed stroke", "{count} timed strokes", times.size),
            "rhythm",
            tr("at least {min_strokes} are needed", min_strokes=MIN_STROKES),
        )
    if distances.max() / distances.min() < _MIN_RATIO:
        raise UsageError(tr("all putts are of about one distance"), "rhythm", tr("putt to near and far marks"))
    x, y = np.log(distances) / math.log(8.0), np.log(times)
    x = x - x.mean()
    change = float(x @ y / (x @ x))
    off = y - y.mean() - change * x
    freedom = times.size - 2
    spread = math.sqrt(float(off @ off) / freedom)
    mean_s = float(np.exp(y.mean()))
    camera = frame_error_s(frames_per_s) / mean_s
    reach = float(stdtrit(freedom, 0.5 + level / 2.0)) / math.sqrt(float(x @ x))
    estimate = Estimate(*(math.expm1(change + part * reach * spread) for part in (0.0, -1.0, 1.0)))
    resolved = math.expm1(reach * max(spread, camera))
    steady = None
    if estimate.low > SAME_TEMPO_SHARE or estimate.high < -SAME_TEMPO_SHARE:
        steady = False
    elif max(abs(estimate.low), abs(estimate.high)) <= 5.0 * SAME_TEMPO_SHARE:
        steady = True  # within 10 %, which nobody hears over one stroke (a tempo band of 6 % is audible over several)
    return Rhythm(int(times.size), mean_s, estimate, spread, camera, resolved, steady)
