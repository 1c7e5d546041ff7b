"""One frame's way from picture to verdict, as one plain synchronous class: no thread, no clock, no window.

Analysing a clip, the demo and live practice all step through it, so the same frames give the same events however they
come.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Callable, Literal, Protocol

from trainer.coaching.verdict import Verdict
from trainer.domain.observation import Frame, Observation
from trainer.domain.record import LiveState, StrokeRecord, unsure, without_signals
from trainer.domain.verdict import Cue
from trainer.feedback.cues import CueChooser
from trainer.feedback.schedule import ALL, FeedbackLevel

Called = Literal["good", "not good", "not judged"]
Judge = Callable[[StrokeRecord], Verdict]


class Watches(Protocol):
    """trainer.vision.observer.Observer, or a stand-in."""

    def find_body(self, frame: Frame) -> Any:
        """The slow half of seeing, from the frame alone; frames in order, one thread at a time."""

    def look(self, frame: Frame, found: Any) -> Observation:
        """The other half, given what ``find_body`` found in this frame."""


@dataclass(frozen=True, slots=True)
class Failed:
    """In place of what was found in a frame, where that failed; told of where frames are judged, in their order."""

    error: Exception


class Tracks(Protocol):
    """trainer.stroke.tracker.Tracker, or a stand-in."""

    def update(self, observation: Observation) -> LiveState:
        """One observation on."""

    def finish(self) -> StrokeRecord | None:
        """No more observations come: the stroke under way, if it got far enough to be one."""


class JudgesLive(Protocol):
    """trainer.coaching.live_judge.LiveJudge, or a stand-in."""

    def update(self, moment: LiveState) -> Cue | None:
        """What this moment settles, once a stroke each."""


@dataclass(frozen=True)
class Finished:
    """A stroke that is over and judged.

    number: from 1 in this run; feedback_level: what it may give away; called: what it is by the drill's rule, None: it is in no
    drill.
    """

    number: int
    record: StrokeRecord
    verdict: Verdict
    cues: tuple[Cue, ...]
    feedback_level: FeedbackLevel = ALL
    called: Called | None = None

    @property
    def summed_up(self) -> Finished:
        """For a list that grows (see ``without_signals``)."""
        return replace(self, record=without_signals(self.record))


@dataclass(frozen=True, slots=True)
class StepResult:
    """All that one frame gave. cue: to be sounded now."""

    observation: Observation
    moment: LiveState
    cue: Cue | None
    finished: Finished | None
    feedback_level: FeedbackLevel = ALL


class Pipeline:
    """``step`` every frame in order, then ``finish``. strokes: finished before by another pipeline of the same run."""

    def __init__(
        self,
        observer: Watches,
        tracker: Tracks,
        live_judge: JudgesLive,
        judge: Judge,
        chooser: CueChooser | None = None,
        strokes: int = 0,
    ) -> None:
        self._observer = observer
        self._tracker = tracker
        self._live_judge = live_judge
        self._judge = judge
        self._chooser = chooser or CueChooser()
        self.strokes = strokes
        self._faulty_s, self._fault = -math.inf, ""  # the last frame that spoils its stroke, and why

    def find_body(self, frame: Frame) -> Any:
        """May run ahead of ``step`` in another thread: it leans on nothing that ``step`` does."""
        return self._observer.find_body(frame)

    def step(self, frame: Frame, body: Any) -> StepResult:
        """One frame whose body was already found."""
        observation = self._observer.look(frame, body)
        if observation.faulty:
            self._faulty_s, self._fault = observation.time_s, observation.faulty
        moment = self._tracker.update(observation)
        feedback_level = self._chooser.feedback_level
        cue = self._chooser.choose(moment, self._live_judge.update(moment))
        finished = self._close(moment.closed) if moment.closed is not None else None
        return StepResult(observation, moment, cue, finished, feedback_level)

    def finish(self) -> Finished | None:
        """The frames have ended; the stroke that was still under way, if it counts."""
        record = self._tracker.finish()
        return self._close(record) if record is not None else None

    def _close(self, record: StrokeRecord) -> Finished:
        feedback_level = self._chooser.feedback_level
        record = replace(record, context=replace(record.context, told=not feedback_level.silent))
        if self._faulty_s >= record.signals.time_s[0]:
            record = unsure(record, self._fault)
        verdict = self._judge(record)
        cues = self._chooser.end_stroke()
        self.strokes += 1
        return Finished(self.strokes, record, verdict, cues, feedback_level)
