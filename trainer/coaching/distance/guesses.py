"""How well a player knows where the ball stopped before he is told.

Saying it first helps to learn: of 52 students, the groups that estimated their error before they were told did better
(J. Phys. Educ., SciELO, http://old.scielo.br/j/jpe/a/gMDLHWMKg8xqTJ8Jj5Ccm6J/).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping, Sequence

from trainer.coaching.distance.ladder import Place, place
from trainer.coaching.distance.putt import Guess, Putt
from trainer.coaching.progress.proportions import Proportion, proportion_of
from trainer.domain.outcome import WHERE_WORDS
from trainer.texts import join, tr, tr_of

PLACES: dict[Place, Guess] = {"short": "short", "in": "right", "long": "long"}
# As it is read; short and long as of any putt.
GUESS_WORDS: Mapping[Guess, str] = {
    "short": WHERE_WORDS["short"],
    "right": tr_of("guess", "right"),
    "long": WHERE_WORDS["long"],
}
OF_PLACE = {"short": tr("ended short"), "right": tr("were right"), "long": tr("ran long")}
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
        each = join(
            ", ",
            (
                tr("{good} of {all} that {of_place}", good=good, all=all_, of_place=OF_PLACE[where])
                for where, (good, all_) in self.of_each.items()
                if all_
            ),
        )
        line = tr(
            "guessed right {words} of {total}: {each}", words=self.right.words(), total=self.right.total, each=each
        )
        wrong = self.longer + self.shorter
        if wrong >= LEAST and max(self.longer, self.shorter) >= 0.8 * wrong:
            line += tr(
                "; wrong guesses are mostly too {words}",
                words=tr("long") if self.longer > self.shorter else tr("short"),
            )
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
