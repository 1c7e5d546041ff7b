"""How it felt against what was measured: does the player know, before the result shows, how the stroke was? Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.progress.proportions import Proportion, proportion_of

MIN_STROKES = 10  # strokes below which chance agreement is not told


@dataclass(frozen=True, slots=True)
class SelfAssessment:
    """agreed: share of strokes that felt as they were measured; felt_good_was: of those that felt good, the ones without
    fault, None where none did; felt_bad_was: of those that felt not good, the ones with a fault; beyond_chance: Cohen's
    kappa, None below MIN_STROKES strokes or where everything was said, or was, the same.
    """

    agreed: Proportion
    felt_good_was: Proportion | None
    felt_bad_was: Proportion | None
    beyond_chance: float | None


def self_assessment_of(said: Sequence[tuple[bool, bool]]) -> SelfAssessment | None:
    """said: (felt good, was without fault) of each stroke of which the player said something. None without any."""
    agreed = proportion_of(sum(felt == was for felt, was in said), len(said))
    if agreed is None:
        return None
    good = [was for felt, was in said if felt]
    bad = [was for felt, was in said if not felt]
    return SelfAssessment(
        agreed, proportion_of(sum(good), len(good)), proportion_of(sum(not was for was in bad), len(bad)), kappa(said)
    )


def kappa(said: Sequence[tuple[bool, bool]]) -> float | None:
    """Agreement beyond what the two shares alone would give by chance: 0 none, 1 whole (J. Cohen 1960, Educ. Psychol.
    Meas. 20, 37-46)."""
    n = len(said)
    if n < MIN_STROKES:
        return None
    felt, was = sum(f for f, _ in said) / n, sum(w for _, w in said) / n
    chance = felt * was + (1 - felt) * (1 - was)
    if chance > 1 - 1e-9:
        return None
    return (sum(f == w for f, w in said) / n - chance) / (1 - chance)
