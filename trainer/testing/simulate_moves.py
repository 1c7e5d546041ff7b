"""What a player does around an invented stroke: a waggle, a glance at the hole, a step; and the reach they are made of."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trainer.domain.record import Floats


def reach(u: Floats) -> Floats:
    """0..1, at rest at both ends: the minimum-jerk reach (Flash and Hogan 1985, J. Neurosci. 5(7); from memory)."""
    v = np.clip(u, 0.0, 1.0)
    return np.asarray(v**3 * (10 - 15 * v + 6 * v * v))


@dataclass(frozen=True, slots=True)
class SimWaggle:
    """A small quick back-and-forth of the putter before a stroke."""

    start_s: float
    deg: float = 2.5
    cycles: int = 2
    lasts_s: float = 0.9

    def hands_deg(self, t: Floats) -> Floats:
        u = np.clip((t - self.start_s) / self.lasts_s, 0, 1)
        return np.asarray(self.deg * np.sin(2 * np.pi * self.cycles * u) * np.sin(np.pi * u))


@dataclass(frozen=True, slots=True)
class SimGlance:
    """A look at the target and back, before a stroke."""

    start_s: float
    rests_s: float = 0.5
    deg: float = 48.0

    def turned_deg(self, t: Floats) -> Floats:
        return self.deg * (reach((t - self.start_s) / 0.5) - reach((t - self.start_s - 0.5 - self.rests_s) / 0.5))


@dataclass(frozen=True, slots=True)
class SimStep:
    """The whole player moves by along_cm within lasts_s (a step back, a walk off)."""

    start_s: float
    along_cm: float
    lasts_s: float = 0.9

    def along(self, t: Floats) -> Floats:
        return self.along_cm * reach((t - self.start_s) / self.lasts_s)
