"""One stroke's signals with what several measures share."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import numpy.typing as npt

from trainer.domain.record import Events, Floats, Measure, Signals
from trainer.stroke import thresholds as th
from trainer.stroke.backstroke import Backstroke
from trainer.stroke.filters import shakes, shakes_moving
from trainer.stroke.path import Path
from trainer.stroke.sight import sight_to_rest
from trainer.stroke.uncertainty import Shown, shown

Mask = npt.NDArray[np.bool_]

ENDS_SOONER_S = 0.07  # two frames of 30 a second: what is watched until then counts as watched for the whole of a time


def unseen(unit: str, reason: str) -> Measure:
    """A measure that could not be made."""
    return Measure(None, unit, 0.0, reason)


class Stretch:
    """The signals of one stroke with what several measures share."""

    def __init__(
        self,
        signals: Signals,
        path: Path | None,
        events: Events,
        back: Backstroke | None = None,
    ) -> None:
        self.signals, self.path, self.events, self.back = signals, path, events, back
        self.t = signals.time_s
        self.face_on = signals.view == "face-on"
        self.by_putter = path is not None and path.source == "putter"
        take = events.takeaway_s
        self.take = take if take is not None else float(self.t[0])
        self.address = (self.t >= self.take - th.ADDRESS_S[0]) & (self.t <= self.take - th.ADDRESS_S[1])

    @cached_property
    def shown(self) -> Shown | None:
        """What it shows of its own errors; None where nothing was followed."""
        return shown(self.signals, self.path, self.events, self.back) if self.path is not None else None

    @cached_property
    def rest_sight(self) -> float:
        """How surely it was seen when what is followed came to rest."""
        return sight_to_rest(self.signals, self.events, self._shake_cm())

    def _shake_cm(self) -> float:
        """What the place of what is followed shakes by, at rest or under way."""
        if self.path is None:
            return 0.0
        way = self.between(self.take, self.events.settle_s or float(self.t[-1]))
        return max(shakes(self.path.raw_cm[self.address]), shakes_moving(self.t[way], self.path.seen_cm[way]))

    def lasts_until(self, time_s: float) -> bool:
        """Whether it was watched until then."""
        return bool(self.t[-1] >= time_s - ENDS_SOONER_S)

    def between(self, first: float | None, last: float | None) -> Mask:
        """Samples from first to last; none when either is unknown."""
        if first is None or last is None:
            return np.zeros(len(self.t), dtype=bool)
        return np.asarray((self.t >= first - 1e-9) & (self.t <= last + 1e-9))

    def change(self, column: Floats) -> Floats:
        """A column's change since address."""
        at = self.address & np.isfinite(column)
        return column - np.median(column[at]) if at.any() else np.full_like(column, np.nan)

    def mean_conf(self, column: str, use: Mask) -> float:
        """Mean confidence over the stretch, unseen frames counting nothing."""
        if not use.any():
            return 0.0
        return float(np.nan_to_num(self.signals[column][use]).mean())
