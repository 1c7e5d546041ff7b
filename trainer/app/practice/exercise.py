"""What is practised, as a session sees it: free putts; a drill and the parts before play say what they do otherwise."""

from __future__ import annotations

from trainer.app.practice.stroke_recorder import Practised, StrokeRecorder
from trainer.coaching.distance.putt import Guess
from trainer.coaching.verdict import Verdict
from trainer.domain.record import LiveState, StrokeRecord
from trainer.domain.verdict import Cue
from trainer.feedback.signs import Sign
from trainer.live.display_types import DrillView
from trainer.live.pipeline import Called
from trainer.settings.drill_file import Drill
from trainer.settings.model import Settings


class Exercise:
    """Free practice. settings: with the limits that strokes are judged by.

    result_sign, called: of the stroke saved last, what is shown of it and what it is by the exercise's own rule; None: neither.
    """

    def __init__(self, recorder: StrokeRecorder, settings: Settings) -> None:
        self.recorder, self.settings = recorder, settings
        self.result_sign: Sign | None = None
        self.called: Called | None = None

    @property
    def drill(self) -> Drill | None:
        """Under way."""
        return None

    @property
    def practised(self) -> Practised:
        """What the next stroke is made under."""
        return Practised(self.settings)

    @property
    def putt_m(self) -> float | None:
        """How far the next putt is; None: the exercise does not say."""
        return None

    def save(self, record: StrokeRecord, verdict: Verdict, cues: tuple[Cue, ...]) -> tuple[str, ...]:
        """Lines to say, when the stroke is on the disk."""
        self.recorder.save(record, verdict, cues, self.practised)
        return ()

    def sound(self, moment: LiveState) -> str | None:
        """One that is no stroke's verdict."""
        return None

    def guessed(self, guess: Guess) -> tuple[str, ...]:
        """What the player said of the newest putt, before he was told. Lines to say."""
        return ()

    def ends(self, moment: LiveState) -> bool:
        """By itself. With every moment."""
        return False

    def view(self) -> DrillView | None:
        """For the screen."""
        return None

    def result(self) -> tuple[str, ...]:
        """How it went so far, in lines."""
        return ()
