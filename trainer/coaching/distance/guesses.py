"""How well a player knows where the ball stopped before he is told.

Saying it first helps to learn: of 52 students, the groups that estimated their error before they were told did better
(J. Phys. Educ., SciELO, http://old.scielo.br/j/jpe/a/gMDLHWMKg8xqTJ8Jj5Ccm6J/).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from trainer.coaching.distance.ladder import Place, place
from trainer.coaching.distance.putt import Guess, Putt
from trainer.coaching.progress.proportions import Proportion, proportion_of

PLACES: dict[Place, Guess] = {"short": "short", "in": "right", "long": "long"}
OF_PLACE = {"short": "ended short", "right": "were right", "long": "ran long"}
LEAST = 5  # guesses, before anything is said of them


@dataclass(frozen=True, slots=True)
class Guesses:
    """right: guesses that were so; of_each: where the ball stopped -> (guesses that were so, balls that stopped there)."""

    right: Proportion
    of_each: dict[Guess, tuple[int, int]]
    longer: int  # said longer than it was
    shorter: int

    @property
    def words(self) -> str:
        """In a line; a lean is told only where four in five of the wrong ones go one way."""
        each = ", ".join(
            f"{good} of {all_} that {OF_PLACE[where]}" for where, (good, all_) in self.of_each.items() if all_
        )
        line = f"guessed right {self.right.words()} of {self.right.total}: {each}"
        wrong = self.longer + self.shorter
        if wrong >= LEAST and max(self.longer, self.shorter) >= 0.8 * wrong:
            line += f"; wrong guesses are mostly too {'long' if self.longer > self.shorter else 'short'}"
        return line


def was(putt: Putt, window_share: float) -> Guess | None:
    """What would have been the right guess; None: there was no target."""
    return None if putt.target_m is None else PLACES[place(putt.rolled_m, putt.target_m, window_share)]


def guesses_of(putts: Sequence[Putt], window_share: float) -> Guesses | None:
    """None of fewer than five. window_share: as the putts are told."""
    order: tuple[Guess, ...] = ("short", "right", "long")
    pairs = [
        (putt.guess, true) for putt in putts if putt.guess is not None and (true := was(putt, window_share)) is not None
    ]
    if len(pairs) < LEAST:
        return None
    right = proportion_of(sum(guess == true for guess, true in pairs), len(pairs))
    assert right is not None
    each = {w: (sum(g == w == t for g, t in pairs), sum(t == w for _, t in pairs)) for w in order}
    longer = sum(order.index(g) > order.index(t) for g, t in pairs)
    return Guesses(right, each, longer, len(pairs) - right.good - longer)
