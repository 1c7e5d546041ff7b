"""What would help to see more, said once each when it has lasted, and shown while it lasts."""

from __future__ import annotations

from trainer.domain.observation import Observation
from trainer.domain.phases import Phase

# So long while a stroke may be under way; before it people walk in and out of the picture.
LASTS_S, LASTS_BEFORE_S = 0.1, 2.0
SHOWN_S = 1.5  # after it was last so


class AdviceTeller:
    """``see`` every observation in order; ``shown`` is what stands now."""

    def __init__(self) -> None:
        self.said: list[str] = []  # all so far
        self._since: dict[str, float] = {}
        self._last_s: dict[str, float] = {}
        self._now_s = 0.0

    def see(self, observation: Observation, phase: Phase) -> tuple[str, ...]:
        """Lines to be said for the first time."""
        self._now_s = now = observation.time_s
        self._since = {line: self._since.get(line, now) for line in observation.advice}
        lasts_s = LASTS_S if phase is Phase.ADDRESS or phase.under_way else LASTS_BEFORE_S
        lasted = [line for line, since in self._since.items() if observation.faulty or now - since >= lasts_s - 1e-9]
        self._last_s.update(dict.fromkeys(lasted, now))
        new = tuple(line for line in lasted if line not in self.said)
        self.said += new
        return new

    @property
    def shown(self) -> tuple[str, ...]:
        """Newest last."""
        return tuple(line for line, last_s in self._last_s.items() if self._now_s - last_s < SHOWN_S)
