"""The ball's diameter, from many fits at rest of two kinds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.vision.numeric import middle


@dataclass(frozen=True, slots=True)
class Measured:
    """A diameter read on the ball at rest. sharp: in a coloured ball's red, or in the grey of any other; what the picture shows
    otherwise counts where these tell less than half of the time (STUDY.md, "A coloured ball")."""

    sharp: bool
    quality: float
    diameter_px: float


def usual_diameter_px(measured: Sequence[Measured]) -> float:
    """Of the best fits of one kind: of the sharp ones where they are more than half."""
    sharp = 2 * sum(m.sharp for m in measured) > len(measured)
    of = [m for m in measured if m.sharp == sharp]
    best = max(m.quality for m in of)
    return middle(m.diameter_px for m in of if m.quality > 0.92 * best)
