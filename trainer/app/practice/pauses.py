"""A pause is proposed every 20 strokes or 10 minutes: never in a stroke, never in place of a result."""

from __future__ import annotations

from typing import Protocol

from trainer.domain.record import LiveState
from trainer.feedback.signs import Sign
from trainer.texts import tr

STROKES, MINUTES = 20, 10.0  # common practice, no source
TAKEN_S = 20.0  # away from the ball for so long is a pause
PAUSE = Sign(tr("Time for a pause"), tr("stand up straight, look far away; go on when you like"), "plain")


class Announces(Protocol):
    """``DisplayStateBuilder``, or a stand-in."""

    @property
    def free(self) -> bool: ...

    def announce(self, sign: Sign, now_s: float) -> None: ...


class Pauses:
    """``kept`` with every stroke, ``follow`` with every moment, ``rested`` while the player has a pause of his own."""

    def __init__(self) -> None:
        self._strokes = 0
        self._since_s: float | None = None
        self._away_s: float | None = None
        self._due = False

    def kept(self) -> None:
        """A stroke, with a ball or without."""
        self._strokes += 1

    def rested(self) -> None:
        """From now on anew."""
        self._strokes, self._since_s, self._due = 0, None, False

    def follow(self, moment: LiveState, signs: Announces, sign: Sign | None) -> tuple[str, ...]:
        """Lines to say. sign: what is shown; one that a stroke took away before it was read is proposed again."""
        if sign == PAUSE and self._due:
            self.rested()
            return (tr("{lower}: {detail}", lower=PAUSE.word.lower(), detail=PAUSE.detail),)
        now_s = moment.time_s
        if self._since_s is None:
            self._since_s = now_s
        if not moment.phase.absent:
            self._away_s = None
        elif self._away_s is None:
            self._away_s = now_s
        elif now_s - self._away_s >= TAKEN_S:
            self.rested()
        long = self._since_s is not None and now_s - self._since_s >= 60.0 * MINUTES
        self._due |= long or self._strokes >= STROKES
        if self._due and signs.free and not (moment.phase.under_way or moment.phase.eyes_down):
            signs.announce(PAUSE, now_s)
        return ()
