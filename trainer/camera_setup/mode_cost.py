"""What a picture costs on this computer, and how many a second it keeps up with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

# Shares of what there is that may be taken: the rest is for decoding, window, sound, and for what else the computer does.
THREAD_SHARE, CORES_SHARE = 0.75, 0.7


@dataclass(frozen=True, slots=True)
class Cost:
    """Seconds a picture of one size takes: the pose model, carrying points on without it, all the rest."""

    model_s: float
    carry_s: float
    rest_s: float

    def threads(self, fps: float) -> tuple[float, float]:
        """Shares of a core: points are found in one thread, the rest in another."""
        from trainer.vision.body.cadence import MODEL_S

        return min(fps, 1 / MODEL_S) * self.model_s + fps * self.carry_s, fps * self.rest_s

    def kept_up(self, fps: float, cores: int) -> bool:
        """Whether so many pictures a second are."""
        return max(self.threads(fps)) <= THREAD_SHARE and kept_up_together([(self, fps)], cores)


def kept_up_together(cameras: Sequence[tuple[Cost, float]], cores: int) -> bool:
    """Whether several cameras of so many pictures a second each are, at once."""
    return sum(sum(cost.threads(fps)) for cost, fps in cameras) <= CORES_SHARE * cores
