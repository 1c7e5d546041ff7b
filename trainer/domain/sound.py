"""What hearing hands to the floors above: when something clicked, and how plainly. Never the sound itself."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Onset:
    """time_s: when the click's first sound came, on the clock of the frames; strength_db: its loudest millisecond over the
    sound around it; levels_db: what came with it in each band, of full scale.
    """

    time_s: float
    strength_db: float
    levels_db: tuple[float, ...] = ()
